// Pictures of the comparison: the shift of every note, and the impedance of one of them on both necks.
import type { Comparison, Curves } from "../../worker/bore-talk.ts";
import { svg } from "../../dom.ts";
import { across, type Frame, frameOf, lineOf, marksOf, text, up, WIDTH } from "./plot.ts";
import { isSure, signed } from "./told.ts";

/** Notes by pitch: the lower register first. */
const byPitch = ({ notes }: Comparison) => [...notes].sort((one, other) => one.register - other.register || one.a.frequency_hz - other.a.frequency_hz);

/** The shift of every note, a bar each, with a line for what it may be off. Hollow: not sure. */
export function shiftsPicture(comparison: Comparison): SVGSVGElement {
  const notes = byPitch(comparison);
  const reach = Math.max(2, ...notes.map((note) => Math.abs(note.shift_cents) + note.uncertainty_cents)) * 1.08;
  const frame: Frame = { top: 28, bottom: 190, x: [0, notes.length], y: [-reach, reach] };
  const bars = notes.flatMap((note, index) => {
    const x = across(frame, index + 0.5);
    const [zero, top] = [up(frame, 0), up(frame, note.shift_cents)];
    const [high, low] = [up(frame, note.shift_cents + note.uncertainty_cents), up(frame, note.shift_cents - note.uncertainty_cents)];
    return [
      svg("rect", { class: isSure(note) ? "shift-bar" : "shift-bar unsure", attributes: { x: (x - 9).toFixed(1), y: Math.min(zero, top).toFixed(1), width: 18, height: Math.abs(zero - top).toFixed(1) } }),
      svg("path", { class: "plot-zero", attributes: { d: `M${x.toFixed(1)} ${high.toFixed(1)}V${low.toFixed(1)}m-4 0h8M${(x - 4).toFixed(1)} ${high.toFixed(1)}h8` } }),
      text(x, frame.bottom + 16, note.written, "middle"),
      text(x, frame.bottom + 31, signed(note.shift_cents), "middle"),
    ];
  });
  const says = `Shift of every note from the first bore to the second, lowest note first: ${notes.map((note) => `${note.written} ${signed(note.shift_cents)} ± ${note.uncertainty_cents.toFixed(1)}`).join(", ")} cents.`;
  return svg(
    "svg",
    { class: "plot-picture", attributes: { viewBox: `0 0 ${WIDTH} 232`, role: "img", "aria-label": says } },
    frameOf(frame, "Shift, cents", "", [], marksOf(frame.y, 6)),
    ...bars,
  );
}

/** The impedance at the reed of one note, in powers of ten. */
export function curvesPicture({ written, fromHz, toHz, a, b }: Curves, says: string): SVGSVGElement {
  const tens = (values: Float64Array) => Array.from(values, (value) => Math.log10(Math.max(value, 1) * 1e-6));
  const [first, second] = [tens(a), tens(b)];
  const all = [...first, ...second];
  const frame: Frame = { top: 28, bottom: 232, x: [0, toHz], y: [Math.floor(Math.min(0, ...all) * 2) / 2, Math.ceil(Math.max(1, ...all) * 2) / 2] };
  const along = (values: readonly number[]) => values.map((value, index) => [fromHz + ((toHz - fromHz) * index) / Math.max(1, values.length - 1), value] as const);
  const tenth = (value: number) => (value >= 0 ? String(10 ** value) : (10 ** value).toFixed(-value));
  const marks = marksOf(frame.y, 4).filter((value) => Number.isInteger(value));
  return svg(
    "svg",
    { class: "plot-picture", attributes: { viewBox: `0 0 ${WIDTH} 272`, role: "img", "aria-label": `Impedance at the reed of ${written} on both necks, from ${fromHz} to ${toHz} Hz. ${says}` } },
    frameOf(frame, "Impedance at the reed, MPa·s/m³", "Hz", marksOf([0, toHz], 8), marks, { x: String, y: tenth }),
    lineOf(frame, along(first), "first"),
    lineOf(frame, along(second), "second"),
  );
}
