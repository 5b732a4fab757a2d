// The key under the view: moved by hand from closed to open, or made to swing; what is least there stands beside it.
import { type Bench, type BenchStore, keyDegOf, shownList } from "../state/bench.ts";
import { valueAt } from "../state/json.ts";
import { degOfStep, padLiftMm, stepOfDeg, stepsOf } from "../state/key.ts";
import { lengthText } from "../state/lengths.ts";
import { leastOfKey, rowKey, verdict } from "../state/pairs.ts";
import { el, setAttribute, setHidden, setText } from "../dom.ts";
import { angleText, gapText, namer, pairText } from "./clearances.ts";

/** Time from closed to open while the key swings by itself: slow enough to watch a gap close. */
const SWING_MS = 3000;
/** For whoever asked the system for less movement: places the key stands at, and for how long. */
const PLACES = 8;
const PLACE_MS = 1000;

export class KeyPanel {
  readonly #play = el("button", { class: "key-play", attributes: { type: "button" } });
  readonly #slider = el("input", { attributes: { type: "range", id: "key-slider", min: 0, step: 1, "aria-label": "Octave key, closed to open" } });
  readonly #says = el("p", { class: "key-says", attributes: { id: "key-says" } });
  readonly #least = el("button", { class: "link", attributes: { type: "button", id: "key-least", title: "Of the pairs that the key moves; the list has all pairs" } });
  readonly #whole = el("button", { class: "key-whole", text: "Whole swing", attributes: { type: "button", title: "The list over the whole swing again, the key closed" } });
  readonly #go = el("button", { class: "key-go", attributes: { type: "button", id: "key-go" } });
  /** Ends the swing that is under way. */
  #stop: (() => void) | undefined;

  constructor(
    private readonly bench: BenchStore,
    private readonly room: HTMLElement,
  ) {
    this.#slider.addEventListener("input", () => {
      this.#halt();
      this.#turn(degOfStep(this.#slider.valueAsNumber, bench.get().openAngleDeg));
    });
    this.#play.addEventListener("click", () => {
      if (this.#stop === undefined) this.#begin();
      else this.#halt();
      this.render(bench.get());
    });
    this.#whole.addEventListener("click", () => {
      this.#halt();
      bench.set({ keyDeg: undefined, row: undefined });
      // the button can do nothing more, and the focus must not be lost with it
      this.#slider.focus();
    });
    this.#least.addEventListener("click", () => {
      const row = this.#leastRow(bench.get());
      if (row !== undefined) bench.set({ row: rowKey(row) });
    });
    this.#go.addEventListener("click", () => {
      const deg = nearestDeg(bench.get());
      if (deg === undefined) return;
      this.#halt();
      bench.set({ keyDeg: deg, row: undefined });
    });
    room.replaceChildren(this.#play, this.#slider, this.#whole, this.#says, this.#go, this.#least);
  }

  render(state: Bench): void {
    const { openAngleDeg, keyDeg, unit } = state;
    setHidden(this.room, state.good === undefined || openAngleDeg <= 0);
    if (this.room.hidden) return;
    if (keyDeg === undefined && this.#stop !== undefined) this.#halt();
    const deg = keyDegOf(state);
    const says = this.#stateText(state, deg);
    setAttribute(this.#slider, "max", String(stepsOf(openAngleDeg)));
    const step = stepOfDeg(deg, openAngleDeg);
    if (this.#slider.valueAsNumber !== step) this.#slider.value = String(step);
    setAttribute(this.#slider, "aria-valuetext", says);
    setText(this.#play, this.#stop === undefined ? "Swing" : "Stop");
    setAttribute(this.#play, "aria-label", this.#stop === undefined ? "Swing the key" : "Stop the key");
    // always there: the slider must not change its length under the hand
    if (this.#whole.disabled !== (keyDeg === undefined)) this.#whole.disabled = keyDeg === undefined;
    setText(this.#says, deg === 0 ? `${says}; it opens by ${angleText(openAngleDeg)}` : says);
    const nearest = nearestDeg(state);
    setHidden(this.#go, nearest === undefined);
    if (nearest !== undefined) setText(this.#go, `Go to the nearest, ${angleText(nearest)}`);
    const row = this.#leastRow(state);
    setHidden(this.#least, row === undefined);
    if (row === undefined) return;
    const where = keyDeg === undefined ? ` at ${angleText(row.key_angle_deg ?? 0)}` : " here";
    // no longer than when all is well: nothing may move while the key does
    const word = row.ok ? "Key’s least " : row.state === "overlapping" ? "▼ Key: " : `▼ Key, ${verdict(row)}: `;
    setText(this.#least, `${word}${gapText(row, unit)}${where}, ${pairText(row, namer(state.parts))}`);
  }

  /** Ends a swing that is under way; the key stays where it is. */
  rest(): void {
    this.#halt();
    this.render(this.bench.get());
  }

  #leastRow(state: Bench) {
    const list = shownList(state);
    return list === undefined ? undefined : leastOfKey(list);
  }

  /** `Key open by 1.20° of 2.18°, pad lifted 0.83 mm`. */
  #stateText(state: Bench, deg: number): string {
    const { openAngleDeg, axes, parts, unit } = state;
    if (deg <= 0) return "Key closed";
    const lift = valueAt(state.good, ["key", "lift_mm"]);
    const lifted = axes === undefined || typeof lift !== "number" ? "" : `, pad lifted ${lengthText(padLiftMm(parts, axes, lift, openAngleDeg, deg), unit)} ${unit}`;
    return `Key open by ${angleText(deg)} of ${angleText(openAngleDeg)}${lifted}`;
  }

  #turn(deg: number): void {
    this.bench.set({ keyDeg: deg });
  }

  #halt(): void {
    this.#stop?.();
    this.#stop = undefined;
  }

  /** To and fro between closed and open, from where the key stands. */
  #begin(): void {
    const { openAngleDeg } = this.bench.get();
    const from = keyDegOf(this.bench.get()) / openAngleDeg;
    /** Part of the way open after so many swings one way, counted from closed. */
    const wave = (swings: number) => 1 - Math.abs(1 - (swings % 2));
    const go = (swings: number) => this.#turn(Math.min(1, wave(swings)) * this.bench.get().openAngleDeg);
    if (matchMedia("(prefers-reduced-motion: reduce)").matches) {
      let place = Math.floor(from * PLACES + 1e-9);
      const next = () => {
        place += 1;
        go(place / PLACES);
      };
      const timer = setInterval(next, PLACE_MS);
      this.#stop = () => clearInterval(timer);
      next();
      return;
    }
    // from here on the list is of where the key stands, and a swing ends when it is not
    go(from);
    let frame = 0;
    let began: number | undefined;
    const draw = (now: number) => {
      began ??= now;
      frame = requestAnimationFrame(draw);
      go(from + (now - began) / SWING_MS);
    };
    frame = requestAnimationFrame(draw);
    this.#stop = () => cancelAnimationFrame(frame);
  }
}

/** Where in the whole swing the key comes nearest to what it must stay clear of. */
function nearestDeg({ clearances }: Bench): number | undefined {
  return (clearances === undefined ? undefined : leastOfKey(clearances))?.key_angle_deg ?? undefined;
}
