// Ink over the view: the line between the nearest points of the place that is looked at, a mark at every place that is not
// within its limits, the names of parts, and a measure.
import { path, type Point, ring, type Stroke, words } from "./ink.ts";
import type { PlacedLabel } from "./labels.ts";
import type { PlacedName } from "./names.ts";

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
function wedge({ x, y }: Point): Stroke {
  return path("ink-wedge", `M${x} ${y - 4}l-7 -12h14z`);
}

export function strokesOf(
  drawn: { gap: GapLine | undefined; marks: readonly Point[]; names: readonly PlacedName[]; measure: { px: number; text: string } | undefined; stretches: readonly StretchLine[]; held: Point | undefined; labels: readonly PlacedLabel[]; width: number; height: number },
): Stroke[] {
  const ink: Stroke[] = [];
  for (const name of drawn.names) {
    ink.push(path("ink-leader", `M${name.x} ${name.y}L${name.fromX} ${name.fromY}`));
    ink.push(ring("ink-anchor", name, 1.8));
    ink.push(words("ink-name", name.text, { x: name.left, y: name.base }));
  }
  for (const stretch of drawn.stretches) ink.push(...stretchLine(stretch));
  for (const mark of drawn.marks) ink.push(wedge(mark));
  if (drawn.gap !== undefined) ink.push(...gapLine(drawn.gap));
  if (drawn.held !== undefined) ink.push(ring("ink-gap-end", drawn.held, END_PX));
  for (const { kind, text, rect } of drawn.labels) ink.push(words(kind, text, { x: (rect.left + rect.right) / 2, y: rect.bottom - 3 }, { "text-anchor": "middle" }));
  if (drawn.measure !== undefined) ink.push(...measure(drawn.measure, drawn.width, drawn.height));
  return ink;
}

/** Radius of a dot at an end. */
const END_PX = 3.4;

/** Length below which the two ends would cover the line between them. */
const SHORT_PX = 14;
/** Radius of the ring round a point. */
const POINT_PX = 9;

function gapLine({ a, b, isPoint }: GapLine): Stroke[] {
  if (isPoint) {
    return ["ink-gap-under", "ink-gap"].map((name) => ring(name, a, POINT_PX));
  }
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  const along = length > 0 ? { x: (b.x - a.x) / length, y: (b.y - a.y) / length } : { x: 1, y: 0 };
  const d = `M${a.x} ${a.y}L${b.x} ${b.y}`;
  const ends = length < SHORT_PX ? [] : [a, b].map((end) => ring("ink-gap-end", end, END_PX));
  // a short gap is shown between two strokes across it, as a thin wall is on a drawing
  const strokes =
    length < SHORT_PX
      ? [a, b].map((end, index) => {
          const out = index === 0 ? -1 : 1;
          const tip = { x: end.x + out * along.x * 18, y: end.y + out * along.y * 18 };
          return path("ink-gap", `M${end.x} ${end.y}L${tip.x} ${tip.y}`);
        })
      : [];
  return [path("ink-gap-under", d), path("ink-gap", d), ...strokes, ...ends];
}

function stretchLine({ points, isBegin, isEnd }: StretchLine): Stroke[] {
  const [first, last] = [points[0], points.at(-1)];
  if (first === undefined || last === undefined) return [];
  const d = points.map(({ x, y }, index) => `${index === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
  /** A stroke across the end of the line. */
  const stop = (end: Point, before: Point | undefined) => {
    const [dx, dy] = before === undefined ? [1, 0] : [end.x - before.x, end.y - before.y];
    const length = Math.hypot(dx, dy) || 1;
    const [x, y] = [(-dy / length) * 7, (dx / length) * 7];
    return path("ink-stretch-end", `M${end.x - x} ${end.y - y}L${end.x + x} ${end.y + y}`);
  };
  return [
    ...["ink-stretch-under", "ink-stretch"].map((name) => path(name, d)),
    ...(isBegin ? [stop(first, points[1])] : []),
    ...(isEnd ? [stop(last, points.at(-2))] : []),
  ];
}

/** Room for the words beside the measure. */
const MEASURE_TEXT_PX = 62;

function measure({ px, text }: { px: number; text: string }, width: number, height: number): Stroke[] {
  const [left, base] = [width - MEASURE_TEXT_PX - 12 - px, height - 16];
  return [
    path("ink-measure", `M${left} ${base - 6}v6h${px}v-6`),
    words("ink-measure-text", text, { x: left + px + 7, y: base }),
  ];
}

/** A round length that takes up about a seventh of the view. */
export function roundMeasure(mmPerPx: number, widthPx: number, mmPerUnit: number): number {
  const wanted = (widthPx / 7) * (mmPerPx / mmPerUnit);
  const power = 10 ** Math.floor(Math.log10(wanted));
  const step = [5, 2, 1].find((candidate) => candidate * power <= wanted) ?? 1;
  return step * power;
}
