// Mouse, fingers and keys on the view: what is taken hold of by a part that can be placed moves the part; else left drag turns, wheel or pinch comes nearer at the pointer, right drag or two
// fingers slide, arrow keys turn while the view has the focus.
import { CLICK_PX } from "../dom.ts";
import type { Camera } from "./camera.ts";

/** Turn for a drag across the height of the view. */
const TURN_PER_HEIGHT = Math.PI;
const KEY_TURN = Math.PI / 36;
const KEY_SLIDE = 0.05;
const KEY_ZOOM = 1.15;
/** A hand is not told of oftener than this between frames, milliseconds. */
const SOON_MS = 4;

/** What a hand does with a part that can be placed. All places in CSS pixels from the top left corner of the view. */
export interface Grip {
  /** What is moved when it is taken here; undefined where there is no such part. */
  over(x: number, y: number): string | undefined;
  /** It is taken at one place and is to come with the hand. */
  take(x: number, y: number): void;
  moveTo(x: number, y: number): void;
  letGo(): void;
  /** It goes back to where it was taken. */
  giveBack(): void;
}

export interface HandEvents {
  /** The camera has a new goal. */
  moved(): void;
  /** The camera is about to come nearer to a place of the view, or to go away from it. */
  nears(x: number, y: number): void;
  /** A click on the view, in CSS pixels from its top left corner. */
  clicked(x: number, y: number): void;
  /** The whole neck is wanted. */
  whole(): void;
}

export function layHand(canvas: HTMLCanvasElement, camera: Camera, events: HandEvents, grip: Grip): void {
  const fingers = new Map<number, { x: number; y: number }>();
  let travelled = 0;
  let sliding = false;
  /** Where a part was touched that comes with the hand once it moves, and whether it has been taken. */
  let held: { x: number; y: number; taken: boolean } | undefined;

  const size = () => canvas.getBoundingClientRect();
  /** In parts of the view's height from its middle, right and up positive. */
  const fromMiddle = (x: number, y: number) => {
    const box = size();
    return { right: (x - box.left - box.width / 2) / box.height, up: -(y - box.top - box.height / 2) / box.height };
  };
  const inView = (event: MouseEvent) => {
    const box = size();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  const middle = () => {
    const all = [...fingers.values()];
    const x = all.reduce((sum, finger) => sum + finger.x, 0) / all.length;
    const y = all.reduce((sum, finger) => sum + finger.y, 0) / all.length;
    const spread = Math.max(...all.map((finger) => Math.hypot(finger.x - x, finger.y - y)), 1);
    return { x, y, spread };
  };

  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    if (fingers.size === 0) {
      travelled = 0;
      const at = inView(event);
      held = event.button === 0 && !event.shiftKey && grip.over(at.x, at.y) !== undefined ? { ...at, taken: false } : undefined;
    } else {
      // two fingers are for the view
      if (held?.taken === true) grip.giveBack();
      held = undefined;
    }
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    sliding = event.button === 2 || event.button === 1 || event.shiftKey;
  });

  // a part that is held is told at once where the hand is, and not with the next frame only
  let told = { since: 0, x: NaN, y: NaN };
  const tell = (event: MouseEvent) => {
    told = { since: event.timeStamp, x: event.clientX, y: event.clientY };
    const at = inView(event);
    grip.moveTo(at.x, at.y);
  };
  canvas.addEventListener("pointerrawupdate", (event) => {
    if (event instanceof PointerEvent && held?.taken === true && fingers.size === 1 && fingers.has(event.pointerId) && event.timeStamp - told.since >= SOON_MS) tell(event);
  });

  canvas.addEventListener("pointermove", (event) => {
    const finger = fingers.get(event.pointerId);
    if (finger === undefined) {
      const at = inView(event);
      const over = event.buttons === 0 ? grip.over(at.x, at.y) : undefined;
      if (over === undefined) delete canvas.dataset["over"];
      else canvas.dataset["over"] = over;
      return;
    }
    const before = middle();
    travelled += Math.hypot(event.clientX - finger.x, event.clientY - finger.y);
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    const now = middle();
    if (held !== undefined) {
      if (travelled <= CLICK_PX) return;
      if (!held.taken) grip.take(held.x, held.y);
      // asking where the view is makes the page be laid out in the middle of a change
      if (!held.taken || told.x !== event.clientX || told.y !== event.clientY) tell(event);
      held.taken = true;
      return;
    }
    const right = (now.x - before.x) / size().height;
    const up = -(now.y - before.y) / size().height;
    if (fingers.size > 1) {
      const at = fromMiddle(now.x, now.y);
      const box = size();
      events.nears(now.x - box.left, now.y - box.top);
      camera.pan(-right, -up);
      camera.zoom(before.spread / now.spread, at.right, at.up);
    } else if (travelled > CLICK_PX) {
      if (sliding) camera.pan(-right, -up);
      else camera.orbit(-right * TURN_PER_HEIGHT, -up * TURN_PER_HEIGHT);
    }
    events.moved();
  });

  const lift = (event: PointerEvent) => {
    const last = fingers.size === 1 && fingers.has(event.pointerId);
    fingers.delete(event.pointerId);
    if (held?.taken === true) {
      if (event.type === "pointerup") grip.letGo();
      else grip.giveBack();
    }
    held = undefined;
    if (last && event.type === "pointerup" && event.button === 0 && travelled <= CLICK_PX) {
      const at = inView(event);
      events.clicked(at.x, at.y);
    }
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());

  canvas.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? event.deltaY * 20 : event.deltaY;
      const at = fromMiddle(event.clientX, event.clientY);
      const here = inView(event);
      events.nears(here.x, here.y);
      camera.zoom(Math.exp(Math.max(-200, Math.min(200, lines)) * 0.0016), at.right, at.up);
      events.moved();
    },
    { passive: false },
  );

  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = ARROWS[event.key];
    if (arrow !== undefined) {
      if (event.shiftKey) camera.pan(arrow.right * KEY_SLIDE, arrow.up * KEY_SLIDE);
      else camera.orbit(arrow.right * KEY_TURN, arrow.up * KEY_TURN);
    } else if (["+", "=", "-", "_"].includes(event.key)) {
      const box = size();
      events.nears(box.width / 2, box.height / 2);
      camera.zoom(event.key === "+" || event.key === "=" ? 1 / KEY_ZOOM : KEY_ZOOM);
    } else if (event.key === "Home") events.whole();
    else return;
    event.preventDefault();
    events.moved();
  });
}

const ARROWS: Readonly<Record<string, { right: number; up: number }>> = {
  ArrowLeft: { right: -1, up: 0 },
  ArrowRight: { right: 1, up: 0 },
  ArrowUp: { right: 0, up: 1 },
  ArrowDown: { right: 0, up: -1 },
};
