// How fine the view is drawn. A graphics card smooths edges as it draws, at the screen's own fineness. A machine that draws
// without one is bound by the number of points it works out: there a view that rests is drawn finer than the screen, which
// smooths edges too, one that moves as fine as the screen, and coarser where even that does not keep up with a hand.

/** Share of the screen's own fineness, along each side, while a part is held on a machine that is slow. */
const COARSE = 0.5;
/** The same of a view that rests, on a machine that does not smooth edges: four points make one of the screen's. */
const SMOOTH = 2;
/** A frame that comes later than this after it was asked for, milliseconds, was waited for: a screen shows sixty a second. */
const LATE_MS = 24;
/** Weight of the newest frame in the mean. */
const NEWEST = 0.2;
/** Frames by which a machine is judged. */
const JUDGED = 8;

export class Pace {
  /** Nothing in the view has moved for a while. */
  rests = false;
  #held = false;
  #isSlow = false;
  #mean = 0;
  #frames = 0;

  /** `smooths`: edges are smoothed at the screen's own fineness. */
  constructor(private readonly smooths: boolean) {}

  /** A part is held, or is not. */
  hold(held: boolean): void {
    if (held === this.#held) return;
    this.#held = held;
    this.#mean = 0;
    this.#frames = 0;
  }

  /** A frame came so long after it was asked for. */
  frame(waitedMs: number): void {
    if (!this.#held) return;
    this.#frames += 1;
    this.#mean = this.#frames === 1 ? waitedMs : this.#mean + NEWEST * (waitedMs - this.#mean);
    if (this.#frames < JUDGED) return;
    // once slow it stays so: the picture would go to and fro
    if (this.#mean > LATE_MS) this.#isSlow = true;
  }

  get share(): number {
    if (this.#held) return this.#isSlow ? COARSE : 1;
    return this.rests && !this.smooths ? SMOOTH : 1;
  }
}
