// The tube laid flat, drawn in millimetres: stations to the right, the arc from the top line up to the player's left and down
// to the right. The sheet is as wide at every station as the tube is round there; its two long edges meet underneath.
import { svg } from "../dom.ts";
import type { FlatTaken } from "./flat-labels.ts";
import { lengthText, type LengthUnit, plainNumber } from "../state/lengths.ts";
import { type Movable, outsideAt } from "../state/places.ts";
import type { Footprint, Unrolled } from "../worker/protocol.ts";

/** Width of the longest number and the gap after it, by the height of its letters. */
const NUMBER_WIDE = 2.3;

export type FlatPoint = { x: number; y: number };

/** From one station line to the next, mm: round numbers in either unit. */
const EVERY_MM = { mm: 10, in: 12.7 } as const;

/** Where a place on the tube lies on the sheet, down positive as on a screen. */
export function onSheet(unrolled: Unrolled, stationMm: number, azimuthDeg: number): FlatPoint {
  return { x: stationMm, y: (-azimuthDeg * Math.PI * outsideAt(unrolled, stationMm)) / 180 };
}

/** A closed line of places as a path. */
export function flatPath(unrolled: Unrolled, outline: readonly (readonly [number, number])[], turnDeg = 0): string {
  const points = outline.map(([station, azimuth]) => onSheet(unrolled, station, azimuth + turnDeg));
  return points.length === 0 ? "" : `${points.map(({ x, y }, index) => `${index === 0 ? "M" : "L"}${x.toFixed(4)} ${y.toFixed(4)}`).join("")}Z`;
}

/** The same as often as the sheet shows it: an outline that crosses the bottom of the tube is there in two pieces. */
export function flatPaths(unrolled: Unrolled, outline: readonly (readonly [number, number])[]): string[] {
  const azimuths = outline.map(([, azimuth]) => azimuth);
  const [low, high] = [Math.min(...azimuths), Math.max(...azimuths)];
  return [-360, 0, 360].filter((turn) => low + turn < 180 - 1e-9 && high + turn > -180 + 1e-9).map((turn) => flatPath(unrolled, outline, turn));
}

/** Station at which the tube goes into the collar: the end of the sheet. */
export function sheetEnd(unrolled: Unrolled): number {
  return unrolled.bands.find(({ part }) => part === "tenon")?.from_station_mm ?? unrolled.along.at(-1)?.station_mm ?? 0;
}

/** Half the width of the widest place of the sheet. */
export function sheetHalf(unrolled: Unrolled): number {
  const end = sheetEnd(unrolled);
  return Math.PI * Math.max(...unrolled.along.filter(({ station_mm }) => station_mm <= end).map(({ radius_mm }) => radius_mm));
}

/** The edge of the sheet, as a closed path. */
export function edgePath(unrolled: Unrolled): string {
  const end = sheetEnd(unrolled);
  const stations = [...unrolled.along.map(({ station_mm }) => station_mm).filter((station) => station < end - 1e-6), end];
  return flatPath(unrolled, [...stations.map((station) => [station, -180] as const), ...[...stations].reverse().map((station) => [station, 180] as const)]);
}

/** Lines along the sheet: the top, where one seam is, and the two sides. The other seam is where the edges meet. */
export function lines(unrolled: Unrolled): SVGElement[] {
  const end = sheetEnd(unrolled);
  const stations = [...unrolled.along.map(({ station_mm }) => station_mm).filter((station) => station < end - 1e-6), end];
  return [0, 90, -90].map((azimuth) => {
    const points = stations.map((station) => onSheet(unrolled, station, azimuth));
    const isSeam = unrolled.seams_deg.includes(azimuth);
    return svg("path", { class: isSeam ? "flat-seam" : "flat-side", attributes: { d: points.map(({ x, y }, index) => `${index === 0 ? "M" : "L"}${x.toFixed(3)} ${y.toFixed(3)}`).join("") } });
  });
}

/** Lines across the sheet at round stations, with their numbers over the edge. */
export function stationLines(unrolled: Unrolled, unit: LengthUnit, textMm: number): SVGElement[] {
  const everyMm = EVERY_MM[unit];
  const end = sheetEnd(unrolled);
  const count = Math.floor(end / everyMm + 1e-9);
  // where there is no room for every number every second one is written, or every fifth
  const nth = [1, 2, 5].find((step) => step * everyMm >= textMm * NUMBER_WIDE) ?? 10;
  return Array.from({ length: count + 1 }, (_, index) => index * everyMm).flatMap((station) => {
    const half = Math.PI * outsideAt(unrolled, station);
    return [
      svg("path", { class: "flat-station", attributes: { d: `M${station} ${-half}V${half}` } }),
      svg("text", {
        class: "flat-number",
        text: Math.round(station / everyMm) % nth !== 0 ? "" : plainNumber(unit === "in" ? station / 25.4 : station),
        attributes: { x: station, y: -half - textMm * 0.35, "font-size": textMm, "text-anchor": "middle" },
      }),
    ];
  });
}

/** Box of a foot on the sheet, its margin for solder with it. */
export function boxOf(unrolled: Unrolled, foot: Footprint): FlatTaken {
  const points = [...foot.margin_mm_deg, ...foot.outline_mm_deg].map(([station, azimuth]) => onSheet(unrolled, station, azimuth));
  const [xs, ys] = [points.map(({ x }) => x), points.map(({ y }) => y)];
  return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
}

/** Where the words of a part stand: over its feet; within the edge where they lie on the bottom, or go all round. */
export function labelPlace(unrolled: Unrolled, part: Movable, feet: readonly Footprint[]): FlatPoint {
  const stations = feet.flatMap((foot) => foot.outline_mm_deg.map(([station]) => station));
  const middle = (Math.min(...stations) + Math.max(...stations)) / 2;
  const highest = Math.max(...feet.flatMap((foot) => [...foot.margin_mm_deg, ...foot.outline_mm_deg].map(([, azimuth]) => azimuth)));
  return onSheet(unrolled, middle, part.azimuthDeg === 180 ? -148 : part.id === "rod_loop" ? 100 : Math.min(highest, 165));
}

/** Bands at the ends, whose words lie in them. */
export function bandTaken(unrolled: Unrolled): FlatTaken[] {
  const half = sheetHalf(unrolled);
  return unrolled.bands.map(({ from_station_mm: left, to_station_mm: right }) => ({ left, right, top: -half, bottom: half }));
}

/** Words in the middle of a band, along its first edge. */
export function bandText(name: string, fromMm: number, toMm: number, unit: LengthUnit): string {
  return `${name} ${lengthText(fromMm, unit)} to ${lengthText(toMm, unit)} ${unit}`;
}
