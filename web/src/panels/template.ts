// The tube laid flat on paper, at its own size: pages to be printed, cut out and wrapped round the tube, with marks to join
// them where one page is too short, and a bar to measure whether the printer kept the size.
import { valueAt, type Json } from "../state/json.ts";
import { lengthText, type LengthUnit } from "../state/lengths.ts";
import { MOVABLES, spotOf } from "../state/places.ts";
import type { Unrolled } from "../worker/protocol.ts";
import { el, svg } from "../dom.ts";
import { type FlatLabel, flatLabels } from "./flat-labels.ts";
import { boxOf, edgePath, flatPath, flatPaths, labelPlace, lines, onSheet, sheetEnd, sheetHalf, stationLines } from "./flat-sheet.ts";
import { spotText } from "./placing.ts";

/** Sheets of paper lying on their long side, mm. */
export const PAPERS = {
  a4: { name: "A4", width: 297, height: 210 },
  letter: { name: "Letter", width: 279.4, height: 215.9 },
} as const;
export type Paper = keyof typeof PAPERS;

/** Edge that printers leave white. */
const EDGE_MM = 10;
/** Room over the drawing for its title, and under it for the bar. */
const HEAD_MM = 17;
const FOOT_MM = 22;
/** How far neighbouring pages overlap, to be glued. */
const OVERLAP_MM = 16;
/** Room round the sheet for its numbers and marks. */
const ROUND_MM = 6;
const TEXT_MM = 2.8;
/** Letters of the words beside the feet, and about how wide one is. */
const NAME_MM = 2.4;
const BAND_MM = 1.3;
const BAR_MM = 100;
/** A page as high as the paper would be followed by an empty one wherever the browser rounds. */
const SPARE_MM = 1;

interface Tile {
  /** Left and top of what the page shows of the drawing. */
  x: number;
  y: number;
  column: number;
  row: number;
}

export function printTemplate(unrolled: Unrolled, job: Json | undefined, unit: LengthUnit, paper: Paper): HTMLElement[] {
  const { width, height } = PAPERS[paper];
  const room = { width: width - 2 * EDGE_MM, height: height - 2 * EDGE_MM - HEAD_MM - FOOT_MM };
  const half = sheetHalf(unrolled) + ROUND_MM;
  const drawing = { left: -ROUND_MM, right: sheetEnd(unrolled) + ROUND_MM, top: -half, bottom: half };
  const [columns, rows] = [starts(drawing.left, drawing.right, room.width), starts(drawing.top, drawing.bottom, room.height)];
  const tiles: Tile[] = rows.flatMap((y, row) => columns.map((x, column) => ({ x, y, column, row })));
  return tiles.map((tile, index) => {
    const part = svg(
      "svg",
      { attributes: { x: EDGE_MM, y: EDGE_MM + HEAD_MM, width: room.width, height: room.height, viewBox: `${tile.x} ${tile.y} ${room.width} ${room.height}` } },
      ...drawn(unrolled, job, unit, index),
      ...joins(columns, rows, room, drawing),
    );
    const page = svg(
      "svg",
      { attributes: { width: `${width}mm`, height: `${height - SPARE_MM}mm`, viewBox: `0 0 ${width} ${height - SPARE_MM}`, role: "img", "aria-label": `Placing template, page ${index + 1} of ${tiles.length}` } },
      ...head(job, unit, index + 1, tiles.length),
      part,
      ...bar(height),
    );
    return el("section", { class: `template-page ${paper}` }, page);
  });
}

/** Where pages begin, so that together they cover from one end to the other. */
function starts(from: number, to: number, size: number): number[] {
  if (to - from <= size) return [from - (size - (to - from)) / 2];
  const count = Math.ceil((to - from - OVERLAP_MM) / (size - OVERLAP_MM));
  return Array.from({ length: count }, (_, index) => from + index * (size - OVERLAP_MM));
}

function text(x: number, y: number, words: string, sizeMm = TEXT_MM, anchor = "start", isStrong = false): SVGElement {
  return svg("text", { class: "paper-text", text: words, attributes: { x, y, "font-size": sizeMm, "text-anchor": anchor, "font-weight": isStrong ? 600 : 400 } });
}

function head(job: Json | undefined, unit: LengthUnit, page: number, pages: number): SVGElement[] {
  const told = (key: string) => {
    const value = valueAt(job, ["order", key]);
    return typeof value === "string" ? value : "";
  };
  const order = [told("number"), told("serial"), told("revision") === "" ? "" : `revision ${told("revision")}`].filter((words) => words !== "").join(", ");
  const of = pages === 1 ? "" : `, page ${page} of ${pages}: lay the crosses of neighbouring pages on one another`;
  return [
    text(EDGE_MM, EDGE_MM + 3.6, `Placing template, to be wrapped round the tube. ${order}${of}`, 3.6, "start", true),
    text(EDGE_MM, EDGE_MM + 8, `Cut along the outline; the long edges meet underneath, the middle line lies on the top seam, the player's left is up. Stations in ${unit === "in" ? "inches" : "millimetres"} along the centreline from the cork end.`),
    text(EDGE_MM, EDGE_MM + 12, "In a bend the metal is longer than the paper outside and shorter inside: cut the paper across at the station lines there, lay each strip at its own station, and mark from the nearest line."),
  ];
}

function bar(height: number): SVGElement[] {
  const y = height - EDGE_MM - 8;
  return [
    svg("path", { class: "paper-bar", attributes: { d: `M${EDGE_MM} ${y}H${EDGE_MM + BAR_MM}` } }),
    ...[0, BAR_MM].map((x) => svg("path", { class: "paper-bar", attributes: { d: `M${EDGE_MM + x} ${y - 2.5}V${y + 2.5}` } })),
    text(EDGE_MM + BAR_MM + 4, y + 1, `This bar is ${BAR_MM} mm (${lengthText(BAR_MM, "in")} in) long. Measure it: if it is not, print again at 100 %, without fitting to the page.`),
  ];
}

function drawn(unrolled: Unrolled, job: Json | undefined, unit: LengthUnit, page: number): SVGElement[] {
  const edge = edgePath(unrolled);
  const clip = `paper-edge-${page}`;
  const end = sheetEnd(unrolled);
  const feet = unrolled.footprints.flatMap((foot) => [
    ...flatPaths(unrolled, foot.margin_mm_deg).map((d) => svg("path", { class: "paper-margin", attributes: { d } })),
    ...flatPaths(unrolled, foot.outline_mm_deg).map((d) => svg("path", { class: `paper-${foot.stands}`, attributes: { d } })),
  ]);
  const names = MOVABLES.flatMap((part): FlatLabel[] => {
    const spot = spotOf(job, part, unrolled);
    const [foot, ...more] = unrolled.footprints.filter((candidate) => part.parts.includes(candidate.part));
    return spot === undefined || foot === undefined ? [] : [{ text: `${foot.name} ${spotText({ unit, good: job }, part, spot)}`, ...labelPlace(unrolled, part, [foot, ...more]) }];
  });
  const onTube = unrolled.bands.filter(({ to_station_mm }) => to_station_mm <= end);
  const bands = onTube.map(({ to_station_mm: to }) => svg("path", { class: "paper-band", attributes: { d: flatPath(unrolled, [[to, -180], [to, 180]]) } }));
  const bandNames = onTube.map(({ name, to_station_mm: to }): FlatLabel => ({ text: `${name} to ${lengthText(to, unit)}`, x: to - (name.length * BAND_MM) / 2, y: onSheet(unrolled, to, -150).y }));
  const half = sheetHalf(unrolled);
  const words = flatLabels([...names, ...bandNames], unrolled.footprints.map((candidate) => boxOf(unrolled, candidate)), { left: 0, top: -half, width: end, height: 2 * half, textMm: NAME_MM }, "paper-name");
  return [
    svg("defs", {}, svg("clipPath", { attributes: { id: clip } }, svg("path", { attributes: { d: edge } }))),
    ...stationLines(unrolled, unit, TEXT_MM),
    ...lines(unrolled),
    ...bands,
    svg("g", { attributes: { "clip-path": `url(#${clip})` } }, ...feet),
    svg("path", { class: "paper-edge", attributes: { d: edge } }),
    ...words,
  ];
}

/** Crosses in the middle of every overlap: on both pages they stand at the same places of the drawing. */
function joins(columns: readonly number[], rows: readonly number[], room: { width: number; height: number }, drawing: { left: number; right: number; top: number; bottom: number }): SVGElement[] {
  const cross = (x: number, y: number) => svg("path", { class: "paper-join", attributes: { d: `M${x - 3} ${y}H${x + 3}M${x} ${y - 3}V${y + 3}` } });
  const along = (from: number, to: number) => [0.06, 0.5, 0.94].map((share) => from + (to - from) * share);
  const across = columns.slice(1).map((start) => start + OVERLAP_MM / 2);
  const down = rows.slice(1).map((start) => start + OVERLAP_MM / 2);
  return [
    ...across.flatMap((x) => along(Math.max(drawing.top, rows[0] ?? 0), drawing.bottom).map((y) => cross(x, y))),
    ...down.flatMap((y) => along(drawing.left, Math.min(drawing.right, (columns.at(-1) ?? 0) + room.width)).map((x) => cross(x, y))),
  ];
}
