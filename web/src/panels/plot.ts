// A frame with axes and lines, for pictures of numbers along one line.
import { svg } from "../dom.ts";

export const WIDTH = 600;
const LEFT = 52;
const RIGHT = WIDTH - 12;

export interface Frame {
  top: number;
  bottom: number;
  /** Least and greatest value at the left and right, below and above. */
  x: readonly [number, number];
  y: readonly [number, number];
}

export type Point = readonly [number, number];

export const across = ({ x: [from, to] }: Frame, value: number) => LEFT + ((value - from) / (to - from || 1)) * (RIGHT - LEFT);
export const up = ({ y: [from, to], top, bottom }: Frame, value: number) => bottom - ((value - from) / (to - from || 1)) * (bottom - top);
/** What stands at a height of the picture. */
export const valueUp = ({ y: [from, to], top, bottom }: Frame, height: number) => from + ((bottom - height) / (bottom - top)) * (to - from);

/** A step between marks that reads well: about so many of them. */
export function stepOf(range: number, marks: number): number {
  const rough = range / marks;
  const ten = 10 ** Math.floor(Math.log10(rough));
  return ten * ([1, 2, 5].find((step) => step * ten >= rough) ?? 10);
}

export function marksOf([from, to]: readonly [number, number], marks: number): number[] {
  const step = stepOf(to - from, marks);
  const first = Math.ceil(from / step - 1e-9);
  return Array.from({ length: Math.floor(to / step + 1e-9) - first + 1 }, (_, index) => Number(((first + index) * step).toFixed(9)));
}

export const points = (frame: Frame, values: readonly Point[]) => values.map(([x, y], index) => `${index === 0 ? "M" : "L"}${across(frame, x).toFixed(1)} ${up(frame, y).toFixed(1)}`).join("");

export const text = (x: number, y: number, says: string, anchor: "start" | "middle" | "end" = "start", kind = "plot-text") => svg("text", { class: kind, text: says, attributes: { x: x.toFixed(1), y: y.toFixed(1), "text-anchor": anchor } });

/** Lines and numbers of the axes; what they measure stands over the frame and under it. */
export function frameOf(frame: Frame, title: string, below: string, xMarks: readonly number[], yMarks: readonly number[], write = { x: String as (value: number) => string, y: String as (value: number) => string }): SVGElement {
  const { top, bottom } = frame;
  return svg(
    "g",
    {},
    text(LEFT, top - 8, title, "start", "plot-title"),
    ...yMarks.flatMap((value) => [
      svg("path", { class: value === 0 ? "plot-zero" : "plot-grid", attributes: { d: `M${LEFT} ${up(frame, value).toFixed(1)}H${RIGHT}` } }),
      text(LEFT - 6, up(frame, value) + 4, write.y(value), "end"),
    ]),
    ...xMarks.flatMap((value) => [
      svg("path", { class: "plot-grid", attributes: { d: `M${across(frame, value).toFixed(1)} ${top}V${bottom}` } }),
      text(across(frame, value), bottom + 16, write.x(value), "middle"),
    ]),
    text((LEFT + RIGHT) / 2, bottom + 32, below, "middle"),
  );
}

export const lineOf = (frame: Frame, values: readonly Point[], kind: "first" | "second" | "between") => svg("path", { class: `plot-line ${kind}`, attributes: { d: points(frame, values) } });

/** Only what differs: an attribute that is set anew is laid out anew. */
export function put(element: Element, attributes: Record<string, string | number>): void {
  for (const [name, value] of Object.entries(attributes)) if (element.getAttribute(name) !== String(value)) element.setAttribute(name, String(value));
}

/** What the two lines of every picture mean. */
export function legend(first: string, second: string): HTMLElement[] {
  return [
    [first, "first", "First, solid: "],
    [second, "second", "Second, dashed: "],
  ].map(([name, kind, how]) => {
    const sample = svg("svg", { class: "plot-sample", attributes: { viewBox: "0 0 44 10", "aria-hidden": "true" } }, svg("path", { class: `plot-line ${kind}`, attributes: { d: "M2 5H42" } }));
    const item = document.createElement("li");
    item.append(sample, `${how}${name}`);
    return item;
  });
}
