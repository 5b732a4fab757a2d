// The strain of forming as colours in steps, each with its words: on the blank and on the half shell it becomes.
import type { BlankView } from "../../worker/blanks-talk.ts";
import { el, svg } from "../../dom.ts";

export type Shown = "stretch" | "shrink" | "thickness";

export const SHOWN: readonly { id: Shown; name: string }[] = [
  { id: "stretch", name: "Stretch" },
  { id: "shrink", name: "Shrink" },
  { id: "thickness", name: "Thickness" },
];

/** Steps of colour to each side of nothing. */
const STEPS = 4;

/** A scale ends at one of these, per cent, so that its steps can be read. */
const ENDS = [0.4, 0.8, 1.2, 2, 4, 8, 12, 20, 40, 80, 200];

/** What forming does at each place, in per cent: longer or shorter than the sheet was, or thicker. */
export function percents(view: BlankView, shown: Shown): number[] {
  return view.costs.map.map((cell) => {
    if (shown === "thickness") return (cell.thickness_mm / view.thicknessMm - 1) * 100;
    return (Math.exp(shown === "stretch" ? cell.stretch : cell.shrink) - 1) * 100;
  });
}

/** Where the scale ends, per cent. */
export function endOf(values: readonly number[]): number {
  const most = values.reduce((greatest, value) => Math.max(greatest, Math.abs(value)), 0);
  return ENDS.find((end) => end >= most) ?? most;
}

function stepOf(value: number, end: number): number {
  const step = Math.round((value / end) * STEPS);
  return Math.min(STEPS, Math.max(-STEPS, step));
}

/** Class of a step: its colour stands in the style sheet, for light and for dark. */
export function strainClass(value: number, end: number): string {
  const step = stepOf(value, end);
  return step === 0 ? "strain s0" : `strain ${step < 0 ? "m" : "p"}${Math.abs(step)}`;
}

/** The steps in a row with what they stand for. */
export function legend(shown: Shown, end: number): HTMLElement {
  const words = shown === "thickness" ? ["thinner", "as the sheet", "thicker"] : ["shrinks", "keeps its length", "stretches"];
  const all = Array.from({ length: 2 * STEPS + 1 }, (_, index) => index - STEPS);
  const boxes = all.map((step) => svg("rect", { class: strainClass((step / STEPS) * end, end), attributes: { x: (step + STEPS) * 10, y: 0, width: 10, height: 8 } }));
  const text = (step: number) => `${step > 0 ? "+" : step < 0 ? "−" : ""}${Math.abs(step)} %`;
  return el(
    "div",
    { class: "strain-legend" },
    svg("svg", { attributes: { viewBox: `0 0 ${10 * all.length} 8`, preserveAspectRatio: "none", "aria-hidden": "true" } }, ...boxes),
    el("div", { class: "strain-words" }, el("span", { text: `${text(-end)} ${words[0]}` }), el("span", { text: words[1] ?? "" }), el("span", { text: `${text(end)} ${words[2]}` })),
  );
}
