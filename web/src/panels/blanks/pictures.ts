// Pictures of a blank, of the half shell it becomes, of the gauges, and of blanks on their sheet. Millimetres; y goes up in
// what the core says and down on the screen.
import { type LengthUnit, lengthText } from "../../state/lengths.ts";
import { isObject, type Json, valueAt } from "../../state/json.ts";
import type { BlankView, LayReport } from "../../worker/blanks-talk.ts";
import { svg } from "../../dom.ts";
import { endOf, percents, type Shown, strainClass } from "./strain.ts";

type Point = readonly number[];

/** Room round a picture, mm. */
const ROUND_MM = 9;
const TEXT_MM = 4.2;
/** How far from the end of a station's line its number stands: clear of seam allowances that are usual. */
const NUMBER_OUT_MM = 6;

const d = (points: readonly Point[], shut = false) => points.map(([x = 0, y = 0], index) => `${index === 0 ? "M" : "L"}${x.toFixed(2)} ${(-y).toFixed(2)}`).join("") + (shut ? "Z" : "");

function boxOf(points: readonly Point[], round: number): { x: number; y: number; width: number; height: number } {
  const xs = points.map(([x = 0]) => x);
  const ys = points.map(([, y = 0]) => -y);
  const [left, top] = [Math.min(...xs) - round, Math.min(...ys) - round];
  return { x: left, y: top, width: Math.max(...xs) + round - left, height: Math.max(...ys) + round - top };
}

function viewBox({ x, y, width, height }: ReturnType<typeof boxOf>): string {
  return [x, y, width, height].map((value) => value.toFixed(2)).join(" ");
}

/** Places of greatest stretch and shrink: a mark with a letter, so that they are found without the colours. */
function marked(view: BlankView): SVGElement[] {
  const { greatest_stretch: most, greatest_shrink: least } = view.costs;
  return [
    { at: most, mark: "A" },
    { at: least, mark: "B" },
  ].map(({ at, mark }) =>
    svg(
      "g",
      { class: "strain-mark" },
      svg("circle", { attributes: { cx: at.x_mm, cy: -at.y_mm, r: 3.4 } }),
      svg("text", { text: mark, attributes: { x: at.x_mm, y: -at.y_mm + 1.6, "text-anchor": "middle", "font-size": 4.6 } }),
    ),
  );
}

export function blankPicture(view: BlankView, shown: Shown, unit: LengthUnit, says: string): SVGSVGElement {
  const values = percents(view, shown);
  const end = endOf(values);
  const box = boxOf(view.outline, ROUND_MM);
  const cells = view.places.map(({ flat }, index) => svg("path", { class: strainClass(values[index] ?? 0, end), attributes: { d: d(flat, true) } }));
  const stations = view.stations.flatMap(({ stationMm, line }) => {
    const [[fromX = 0, fromY = 0] = [], [toX = 0, toY = 0] = []] = [line.at(0), line.at(-1)];
    const share = NUMBER_OUT_MM / Math.max(Math.hypot(toX - fromX, toY - fromY), 1);
    // on along the line, clear of the edge
    const [x, y] = [toX + (toX - fromX) * share, toY + (toY - fromY) * share];
    const numbered = Math.round(stationMm) % 20 === 0;
    return [
      svg("path", { class: "blank-mark", attributes: { d: d(line) } }),
      numbered ? svg("text", { class: "blank-text", text: lengthText(stationMm, unit).replace(/\.00$/, ""), attributes: { x, y: -y + TEXT_MM / 3, "font-size": TEXT_MM, "text-anchor": "middle" } }) : undefined,
    ];
  });
  return svg(
    "svg",
    { class: "blank-picture", attributes: { viewBox: viewBox(box), role: "img", "aria-label": says } },
    svg("path", { class: "blank-ground", attributes: { d: d(view.outline, true) } }),
    ...cells,
    ...stations,
    svg("path", { class: "blank-side", attributes: { d: d(view.sideLine) } }),
    ...view.finished.map((line) => svg("path", { class: "blank-finished", attributes: { d: d(line) } })),
    ...view.vent.map((line) => svg("path", { class: "blank-vent", attributes: { d: d(line) } })),
    svg("path", { class: "blank-cut", attributes: { d: d(view.outline, true) } }),
    ...marked(view),
  );
}

/** The right half as it is formed, seen from its own side and turned about the line from end to end. Far places are drawn first. */
export function halfPicture(view: BlankView, shown: Shown, turnDeg: number, says: string): SVGSVGElement {
  const values = percents(view, shown);
  const end = endOf(values);
  const [sin, cos] = [Math.sin((turnDeg * Math.PI) / 180), Math.cos((turnDeg * Math.PI) / 180)];
  // from the player's right, along +Y: the cork end lies left, as on the blank
  const seen = view.places.map(({ formed }, index) => {
    const corners = formed.map(([x = 0, y = 0, z = 0]) => [x, z * cos - y * sin, y * cos + z * sin] as const);
    return { corners, depth: corners.reduce((sum, [, , depth]) => sum + depth, 0), index };
  });
  const box = boxOf(seen.flatMap(({ corners }) => corners), ROUND_MM);
  seen.sort((a, b) => b.depth - a.depth);
  return svg(
    "svg",
    { class: "half-picture", attributes: { viewBox: viewBox(box), role: "img", "aria-label": says } },
    ...seen.map(({ corners, index }) => svg("path", { class: `${strainClass(values[index] ?? 0, end)} edged`, attributes: { d: d(corners, true) } })),
  );
}

export function gaugePicture(outline: readonly Point[], says: string): SVGSVGElement {
  const box = boxOf(outline, 2);
  return svg("svg", { class: "gauge-picture", attributes: { viewBox: viewBox(box), role: "img", "aria-label": says } }, svg("path", { class: "blank-cut", attributes: { d: d(outline, true) } }));
}

/** The border of the metal and its holes. */
function borderOf(report: LayReport): Point[][] {
  const metal = valueAt(report.sheet as unknown as Json, ["metal"]);
  const number = (key: string) => Number(valueAt(metal, [key]) ?? 0);
  const corners = (ring: Json | undefined): Point[] => (Array.isArray(ring) ? ring.map((at) => [Number(valueAt(at, ["x_mm"])), Number(valueAt(at, ["y_mm"]))]) : []);
  const border = valueAt(metal, ["border"]);
  if (border !== undefined) {
    const holes = valueAt(metal, ["holes"]);
    return [corners(border), ...(Array.isArray(holes) ? holes.map((hole) => corners(isObject(hole) ? hole["corners"] : undefined)) : [])];
  }
  const [length, width] = report.length_mm === null ? [number("length_mm"), number("width_mm")] : [report.length_mm, number("strip_width_mm")];
  return [[[0, 0], [length, 0], [length, width], [0, width]]];
}

/** One sheet with its blanks, each with its number and which half it is. */
export function sheetPicture(report: LayReport, views: readonly BlankView[], sheet: number, says: string): SVGSVGElement {
  const rings = borderOf(report);
  const box = boxOf(rings[0] ?? [], 4);
  const several = views.length > 1;
  const size = Math.max(4.5, box.width / 70);
  const placed = report.placements.filter((place) => place.sheet === sheet);
  const drawn = placed.map((place) => {
    const view = views[place.order];
    if (view === undefined) return undefined;
    const turn = (place.angle_deg * Math.PI) / 180;
    const at = ([x = 0, y = 0]: Point): Point => {
      const own = place.mirrored ? -x : x;
      return [place.x_mm + own * Math.cos(turn) - y * Math.sin(turn), place.y_mm + own * Math.sin(turn) + y * Math.cos(turn)];
    };
    const [x = 0, y = 0] = at(view.sideLine[Math.floor(view.sideLine.length / 2)] ?? [0, 0]);
    return svg(
      "g",
      { class: several ? `laid order-${place.order % 4}` : "laid" },
      svg("path", { class: place.mirrored ? "laid-blank mirrored" : "laid-blank", attributes: { d: d(view.outline.map(at), true) } }),
      svg("path", { class: "blank-side", attributes: { d: d(view.sideLine.map(at)) } }),
      svg("text", { class: "blank-text", text: `${several ? `${String.fromCharCode(65 + (place.order % 26))} ` : ""}${place.piece + 1} ${place.mirrored ? "L" : "R"}`, attributes: { x, y: -y + size / 3, "font-size": size, "text-anchor": "middle" } }),
    );
  });
  return svg(
    "svg",
    { class: "sheet-picture", attributes: { viewBox: viewBox(box), role: "img", "aria-label": says } },
    svg("path", { class: "sheet-metal", attributes: { d: rings.map((ring) => d(ring, true)).join(""), "fill-rule": "evenodd" } }),
    ...drawn.filter((group) => group !== undefined),
  );
}
