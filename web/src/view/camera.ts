// Where the neck is looked at from. Parallel projection, as on a drawing. Pure numbers: no DOM and no three.js, and time
// is handed in, so that a test need not wait for it.

export type Vec3 = readonly [number, number, number];
export interface Box {
  min: Vec3;
  max: Vec3;
}

export interface Look {
  /** Point of the neck in the middle of the view. */
  target: Vec3;
  /** Direction of the eye round +Z, from +X; -90 degrees looks along +Y, the cork end to the left. */
  yaw: number;
  /** Height of the eye above the horizontal. */
  pitch: number;
  /** Height of what is seen, in millimetres. */
  span: number;
}

/** The neck as a drawing shows it. */
export const FROM_THE_SIDE = { yaw: -Math.PI / 2, pitch: 0 } as const;

/** Nearer than this the triangles' own coarseness would be seen; farther, nothing would. */
const SPAN_MIN_MM = 1;
const SPAN_MAX_MM = 2000;
/** Time in which the view covers all but a third of the way to where it is going. */
const DAMPING_MS = 70;
/** The view has arrived when nothing on the screen would move by more than about a hundredth of its height. */
const ARRIVED = 1e-4;

export const add = (a: Vec3, b: Vec3, scale = 1): Vec3 => [a[0] + b[0] * scale, a[1] + b[1] * scale, a[2] + b[2] * scale];
export const subtract = (a: Vec3, b: Vec3): Vec3 => add(a, b, -1);
export const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const clamp = (value: number, low: number, high: number) => Math.min(Math.max(value, low), high);

/** Unit vectors of the screen: to the right, upwards, and towards the eye. */
export function axes({ yaw, pitch }: Pick<Look, "yaw" | "pitch">): { right: Vec3; up: Vec3; eye: Vec3 } {
  const [cy, sy, cp, sp] = [Math.cos(yaw), Math.sin(yaw), Math.cos(pitch), Math.sin(pitch)];
  return { right: [-sy, cy, 0], up: [-sp * cy, -sp * sy, cp], eye: [cp * cy, cp * sy, sp] };
}

export class Camera {
  #now: Look;
  #goal: Look;
  /** Without movement between places, for whoever asked the system for less of it. */
  still = false;

  constructor(look: Look) {
    this.#now = look;
    this.#goal = look;
  }

  get now(): Look {
    return this.#now;
  }

  get goal(): Look {
    return this.#goal;
  }

  /** It is on its way. */
  get moves(): boolean {
    return this.#now !== this.#goal;
  }

  /** Turns the neck under the eye, in radians. */
  orbit(yaw: number, pitch: number): void {
    this.#set({ yaw: this.#goal.yaw + yaw, pitch: clamp(this.#goal.pitch + pitch, -Math.PI / 2, Math.PI / 2) });
  }

  /** Slides by parts of the view's height, right and up positive. */
  pan(right: number, up: number): void {
    const view = axes(this.#goal);
    this.#set({ target: add(add(this.#goal.target, view.right, right * this.#goal.span), view.up, up * this.#goal.span) });
  }

  /** Multiplies what is seen by `factor`; the point at (`right`, `up`), in parts of the view's height from its middle, stays. */
  zoom(factor: number, right = 0, up = 0): void {
    const span = clamp(this.#goal.span * factor, SPAN_MIN_MM, SPAN_MAX_MM);
    const gained = this.#goal.span - span;
    const view = axes(this.#goal);
    this.#set({ span, target: add(add(this.#goal.target, view.right, right * gained), view.up, up * gained) });
  }

  /** Goes to a look, on the way there in `step`s unless `still`. */
  goTo(look: Partial<Look>): void {
    this.#set(look);
  }

  /** The whole of a box, with `aspect` = width / height of the view, and a margin round it. */
  fit(box: Box, aspect: number, from: Pick<Look, "yaw" | "pitch"> = this.#goal, margin = 1.16): void {
    const view = axes(from);
    const half: Vec3 = [(box.max[0] - box.min[0]) / 2, (box.max[1] - box.min[1]) / 2, (box.max[2] - box.min[2]) / 2];
    const reach = (axis: Vec3) => Math.abs(axis[0]) * half[0] + Math.abs(axis[1]) * half[1] + Math.abs(axis[2]) * half[2];
    this.#set({
      yaw: from.yaw,
      pitch: from.pitch,
      target: add(box.min, half),
      span: clamp(2 * margin * Math.max(reach(view.up), reach(view.right) / aspect), SPAN_MIN_MM, SPAN_MAX_MM),
    });
  }

  /** Ends the movement at once. */
  arrive(): void {
    this.#now = this.#goal;
  }

  /** Moves on by a frame; says whether there is still way to go. */
  step(milliseconds: number): boolean {
    const keep = this.still ? 0 : Math.exp(-milliseconds / DAMPING_MS);
    const mix = (goal: number, now: number) => goal + (now - goal) * keep;
    const { target, yaw, pitch, span } = this.#goal;
    const from = this.#now.target;
    this.#now = {
      target: [mix(target[0], from[0]), mix(target[1], from[1]), mix(target[2], from[2])],
      yaw: mix(yaw, this.#now.yaw),
      pitch: mix(pitch, this.#now.pitch),
      // by ratio, so that coming nearer looks as quick as going away
      span: Math.exp(mix(Math.log(span), Math.log(this.#now.span))),
    };
    const apart = subtract(this.#now.target, target);
    const left = Math.max(
      Math.sqrt(dot(apart, apart)) / span,
      Math.abs(this.#now.yaw - yaw),
      Math.abs(this.#now.pitch - pitch),
      Math.abs(this.#now.span / span - 1),
    );
    if (left > ARRIVED) return true;
    this.arrive();
    return false;
  }

  #set(change: Partial<Look>): void {
    this.#goal = { ...this.#goal, ...change };
    if (this.still) this.arrive();
  }
}
