// How fine the view is drawn while a part is held: as fine as the screen, unless the machine cannot keep up with the hand. A
// machine that draws without a graphics card is bound by the number of pixels; what is let go of is drawn fine again.

/** Share of the screen's own fineness, along each side, on a machine that is slow. */
const COARSE = 0.5;
/** A frame that comes later than this after it was asked for, milliseconds, was waited for: a screen shows sixty a second. */
const LATE_MS = 24;
/** Weight of the newest frame in the mean. */
const NEWEST = 0.2;
/** Frames by which a machine is judged. */
const JUDGED = 8;

export class Pace {
  #held = false;
  #isSlow = false;
  #mean = 0;
  #frames = 0;

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
    return this.#held && this.#isSlow ? COARSE : 1;
  }
}
