// Pictures of the comparison: the shift of every note, the impedance of one of them, and how steep both bores are.
import type { LengthUnit } from "../../state/lengths.ts";
import type { Comparison, Curve, Curves, NeckSaid, NoteShift } from "../../worker/bore-talk.ts";
import { setText, svg } from "../../dom.ts";
import { across, type Frame, frameOf, lineOf, marksOf, put, text, up, WIDTH } from "../plot.ts";
import { isSure, signed } from "./told.ts";

/** Notes by pitch: the lower register first. */
const byPitch = (notes: readonly NoteShift[]) => [...notes].sort((one, other) => one.register - other.register || one.first_hz - other.first_hz);

/** The shift of every note, a bar each, with a line for what it may be off. Hollow: not sure. The same bars serve again and again. */
export class ShiftsPicture {
  readonly element = svg("svg", { class: "plot-picture", attributes: { viewBox: `0 0 ${WIDTH} 232`, role: "img" } });
  #bars: readonly { bar: SVGRectElement; whisker: SVGPathElement; shift: SVGTextElement }[] = [];
  /** What frame and names were drawn for. */
  #drawnAs = "";
  #reach = 0;

  /** `held`: while a hand changes the bore the scale may grow and does not shrink. */
  render(told: readonly NoteShift[], held: boolean): void {
    const notes = byPitch(told);
    const reach = Math.max(2, ...notes.map((note) => Math.abs(note.shift_cents) + note.uncertainty_cents)) * 1.08;
    if (!held || reach > this.#reach) this.#reach = held ? reach * 1.2 : reach;
    const frame: Frame = { top: 28, bottom: 190, x: [0, notes.length], y: [-this.#reach, this.#reach] };
    const drawnAs = `${this.#reach} ${notes.map(({ written }) => written).join()}`;
    if (drawnAs !== this.#drawnAs) {
      this.#drawnAs = drawnAs;
      this.#bars = notes.map((_, index) => ({ bar: svg("rect", { attributes: { width: 18 } }), whisker: svg("path", { class: "plot-zero" }), shift: text(across(frame, index + 0.5), frame.bottom + 31, "", "middle") }));
      const names = notes.map(({ written }, index) => text(across(frame, index + 0.5), frame.bottom + 16, written, "middle"));
      this.element.replaceChildren(frameOf(frame, "Shift, cents", "", [], marksOf(frame.y, 6)), ...names, ...this.#bars.flatMap(({ bar, whisker, shift }) => [bar, whisker, shift]));
    }
    const zero = up(frame, 0);
    notes.forEach((note, index) => {
      const drawn = this.#bars[index];
      if (drawn === undefined) return;
      const x = across(frame, index + 0.5);
      const top = up(frame, note.shift_cents);
      const [high, low] = [up(frame, note.shift_cents + note.uncertainty_cents), up(frame, note.shift_cents - note.uncertainty_cents)];
      put(drawn.bar, { class: isSure(note) ? "shift-bar" : "shift-bar unsure", x: (x - 9).toFixed(1), y: Math.min(zero, top).toFixed(1), height: Math.abs(zero - top).toFixed(1) });
      put(drawn.whisker, { d: `M${x.toFixed(1)} ${high.toFixed(1)}V${low.toFixed(1)}m-4 0h8M${(x - 4).toFixed(1)} ${high.toFixed(1)}h8` });
      setText(drawn.shift, signed(note.shift_cents));
    });
    put(this.element, { "aria-label": `Shift of every note from the first bore to the second, lowest note first: ${notes.map((note) => `${note.written} ${signed(note.shift_cents)} ± ${note.uncertainty_cents.toFixed(1)}`).join(", ")} cents.` });
  }
}

const alongCurve = ({ fromHz, toHz }: Curve, values: readonly number[]) => values.map((value, index) => [fromHz + ((toHz - fromHz) * index) / Math.max(1, values.length - 1), value] as const);

/** The impedance at the reed of one note, in powers of ten. */
export function wholePicture({ written, whole }: Curves, says: string): SVGSVGElement {
  const { fromHz, toHz } = whole;
  const tens = (values: Float64Array) => Array.from(values, (value) => Math.log10(Math.max(value, 1) * 1e-6));
  const [first, second] = [tens(whole.a), tens(whole.b)];
  const all = [...first, ...second];
  const frame: Frame = { top: 28, bottom: 232, x: [0, toHz], y: [Math.floor(Math.min(0, ...all) * 2) / 2, Math.ceil(Math.max(1, ...all) * 2) / 2] };
  const tenth = (value: number) => (value >= 0 ? String(10 ** value) : (10 ** value).toFixed(-value));
  const marks = marksOf(frame.y, 4).filter((value) => Number.isInteger(value));
  return svg(
    "svg",
    { class: "plot-picture", attributes: { viewBox: `0 0 ${WIDTH} 272`, role: "img", "aria-label": `Impedance at the reed of ${written} on both necks, from ${fromHz} to ${toHz} Hz. ${says}` } },
    frameOf(frame, "Impedance at the reed, MPa·s/m³, in steps of ten", "Hz", marksOf([0, toHz], 8), marks, { x: String, y: tenth }),
    lineOf(frame, alongCurve(whole, first), "first"),
    lineOf(frame, alongCurve(whole, second), "second"),
  );
}

/** The peak the note is played on, near by. */
export function nearPicture({ written, near }: Curves): SVGSVGElement {
  const [first, second] = [near.a, near.b].map((values) => Array.from(values, (value) => value * 1e-6)) as [number[], number[]];
  const frame: Frame = { top: 28, bottom: 190, x: [near.fromHz, near.toHz], y: [0, Math.max(1, ...first, ...second) * 1.08] };
  return svg(
    "svg",
    { class: "plot-picture", attributes: { viewBox: `0 0 ${WIDTH} 230`, role: "img", "aria-label": `The peak ${written} is played on, near by, on both necks` } },
    frameOf(frame, `The peak ${written} is played on, MPa·s/m³`, "Hz", marksOf(frame.x, 8), marksOf(frame.y, 4)),
    lineOf(frame, alongCurve(near, first), "first"),
    lineOf(frame, alongCurve(near, second), "second"),
  );
}

/** The half-angle of both bores along the length. */
export function anglesPicture({ a, b }: Comparison, unit: LengthUnit): SVGSVGElement {
  const along = ({ profile }: NeckSaid) => profile.map(({ station_mm, half_angle_deg }) => [station_mm, half_angle_deg] as const);
  const [first, second] = [along(a), along(b)];
  const all = [...first, ...second].map(([, angle]) => angle);
  // a straight cone is a level line in the middle, and not noise drawn large
  const middle = (Math.max(...all) + Math.min(...all)) / 2;
  const half = Math.max(0.25, ((Math.max(...all) - Math.min(...all)) / 2) * 1.15);
  const frame: Frame = { top: 28, bottom: 150, x: [0, Math.max(1, a.length_mm, b.length_mm)], y: [middle - half, middle + half] };
  const inUnit = (value: number) => (unit === "in" ? (value / 25.4).toFixed(2) : String(value));
  const ends = (name: string, values: readonly (readonly [number, number])[]) => `${name} from ${Math.min(...values.map(([, angle]) => angle)).toFixed(2)} to ${Math.max(...values.map(([, angle]) => angle)).toFixed(2)} degrees`;
  return svg(
    "svg",
    { class: "plot-picture", attributes: { viewBox: `0 0 ${WIDTH} 190`, role: "img", "aria-label": `Half-angle along the length: ${ends("first", first)}, ${ends("second", second)}` } },
    frameOf(frame, "Half-angle, degrees", `station from the cork end, ${unit}`, marksOf(frame.x, 10), marksOf(frame.y, 4), { x: inUnit, y: (value) => value.toFixed(2) }),
    lineOf(frame, first, "first"),
    lineOf(frame, second, "second"),
  );
}
