// Ink over the view: the line between the nearest points of the place that is looked at, a mark at every place that is not
// within its limits, the names of parts, and a measure.
import { svg } from "../dom.ts";
import type { PlacedLabel } from "./labels.ts";
import type { PlacedName } from "./names.ts";

export interface Point {
  x: number;
  y: number;
}

export interface GapLine {
  a: Point;
  b: Point;
  /** It is about one point, not about the line to another. */
  isPoint: boolean;
}

/** A stretch along the tube in which a part is clear of its neighbours. */
export interface StretchLine {
  points: readonly Point[];
  /** Whether its ends are the ends of the stretch, and not where it is cut away. */
  isBegin: boolean;
  isEnd: boolean;
}

/** What fails is drawn as a wedge that points at the place. */
function wedge({ x, y }: Point): SVGPathElement {
  return svg("path", { class: "ink-wedge", attributes: { d: `M${x} ${y - 4}l-7 -12h14z` } });
}

export function drawInk(
  layer: Element,
  drawn: { gap: GapLine | undefined; marks: readonly Point[]; names: readonly PlacedName[]; measure: { px: number; text: string } | undefined; stretches: readonly StretchLine[]; held: Point | undefined; labels: readonly PlacedLabel[]; width: number; height: number },
): void {
  const ink: SVGElement[] = [];
  for (const name of drawn.names) {
    ink.push(svg("path", { class: "ink-leader", attributes: { d: `M${name.x} ${name.y}L${name.fromX} ${name.fromY}` } }));
    ink.push(svg("circle", { class: "ink-anchor", attributes: { cx: name.x, cy: name.y, r: 1.8 } }));
    ink.push(svg("text", { class: "ink-name", text: name.text, attributes: { x: name.left, y: name.base } }));
  }
  for (const stretch of drawn.stretches) ink.push(...stretchLine(stretch));
  for (const mark of drawn.marks) ink.push(wedge(mark));
  if (drawn.gap !== undefined) ink.push(...gapLine(drawn.gap));
  if (drawn.held !== undefined) ink.push(svg("circle", { class: "ink-gap-end", attributes: { cx: drawn.held.x, cy: drawn.held.y, r: 3.4 } }));
  for (const { kind, text, rect } of drawn.labels) ink.push(svg("text", { class: kind, text, attributes: { x: (rect.left + rect.right) / 2, y: rect.bottom - 3, "text-anchor": "middle" } }));
  if (drawn.measure !== undefined) ink.push(...measure(drawn.measure, drawn.width, drawn.height));
  layer.replaceChildren(...ink);
}

/** Length below which the two ends would cover the line between them. */
const SHORT_PX = 14;
/** Radius of the ring round a point. */
const POINT_PX = 9;

function gapLine({ a, b, isPoint }: GapLine): SVGElement[] {
  if (isPoint) {
    return ["ink-gap-under", "ink-gap"].map((name) => svg("circle", { class: name, attributes: { cx: a.x, cy: a.y, r: POINT_PX } }));
  }
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  const along = length > 0 ? { x: (b.x - a.x) / length, y: (b.y - a.y) / length } : { x: 1, y: 0 };
  const d = `M${a.x} ${a.y}L${b.x} ${b.y}`;
  const ends = length < SHORT_PX ? [] : [a, b].map((end) => svg("circle", { class: "ink-gap-end", attributes: { cx: end.x, cy: end.y, r: 3.4 } }));
  // a short gap is shown between two strokes across it, as a thin wall is on a drawing
  const strokes =
    length < SHORT_PX
      ? [a, b].map((end, index) => {
          const out = index === 0 ? -1 : 1;
          const tip = { x: end.x + out * along.x * 18, y: end.y + out * along.y * 18 };
          return svg("path", { class: "ink-gap", attributes: { d: `M${end.x} ${end.y}L${tip.x} ${tip.y}` } });
        })
      : [];
  return [
    svg("path", { class: "ink-gap-under", attributes: { d } }),
    svg("path", { class: "ink-gap", attributes: { d } }),
    ...strokes,
    ...ends,
  ];
}

function stretchLine({ points, isBegin, isEnd }: StretchLine): SVGElement[] {
  const [first, last] = [points[0], points.at(-1)];
  if (first === undefined || last === undefined) return [];
  const d = points.map(({ x, y }, index) => `${index === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
  /** A stroke across the end of the line. */
  const stop = (end: Point, before: Point | undefined) => {
    const [dx, dy] = before === undefined ? [1, 0] : [end.x - before.x, end.y - before.y];
    const length = Math.hypot(dx, dy) || 1;
    const [x, y] = [(-dy / length) * 7, (dx / length) * 7];
    return svg("path", { class: "ink-stretch-end", attributes: { d: `M${end.x - x} ${end.y - y}L${end.x + x} ${end.y + y}` } });
  };
  return [
    ...["ink-stretch-under", "ink-stretch"].map((name) => svg("path", { class: name, attributes: { d } })),
    ...(isBegin ? [stop(first, points[1])] : []),
    ...(isEnd ? [stop(last, points.at(-2))] : []),
  ];
}

/** Room for the words beside the measure. */
const MEASURE_TEXT_PX = 62;

function measure({ px, text }: { px: number; text: string }, width: number, height: number): SVGElement[] {
  const [left, base] = [width - MEASURE_TEXT_PX - 12 - px, height - 16];
  return [
    svg("path", { class: "ink-measure", attributes: { d: `M${left} ${base - 6}v6h${px}v-6` } }),
    svg("text", { class: "ink-measure-text", text, attributes: { x: left + px + 7, y: base } }),
  ];
}

/** A round length that takes up about a seventh of the view. */
export function roundMeasure(mmPerPx: number, widthPx: number, mmPerUnit: number): number {
  const wanted = (widthPx / 7) * (mmPerPx / mmPerUnit);
  const power = 10 ** Math.floor(Math.log10(wanted));
  const step = [5, 2, 1].find((candidate) => candidate * power <= wanted) ?? 1;
  return step * power;
}
