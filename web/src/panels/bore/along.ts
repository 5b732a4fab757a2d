// Both bores along their length: as a table, and as CSV.
import { type LengthUnit, lengthText } from "../../state/lengths.ts";
import type { Comparison, NeckSaid } from "../../worker/bore-talk.ts";
import { el } from "../../dom.ts";
import { head, row, scrolled, signed } from "./told.ts";

/** Stations at which either bore is told, with what each is there. */
function along({ a, b }: Comparison) {
  const at = ({ profile }: NeckSaid, station: number) => profile.find(({ station_mm }) => Math.abs(station_mm - station) < 1e-6);
  const stations = [...a.profile, ...b.profile].map(({ station_mm }) => station_mm).sort((one, other) => one - other);
  return stations.filter((station, index) => index === 0 || station - (stations[index - 1] ?? 0) > 1e-6).map((station) => ({ station, first: at(a, station), second: at(b, station) }));
}

export function alongTable(comparison: Comparison, unit: LengthUnit): HTMLElement {
  const length = (mm: number | undefined) => (mm === undefined ? "" : lengthText(mm, unit));
  const area = (mm2: number | undefined) => (mm2 === undefined ? "" : unit === "in" ? (mm2 / 645.16).toFixed(4) : mm2.toFixed(1));
  const square = unit === "in" ? "in²" : "mm²";
  return scrolled(
    "Both bores along their length",
    head([`Station, ${unit}`, `First, ${unit}`, `Second, ${unit}`, `Difference, ${unit}`, "Half-angle, first", "Half-angle, second", `Open area, first, ${square}`, `Open area, second, ${square}`]),
    el(
      "tbody",
      {},
      ...along(comparison).map(({ station, first, second }) => {
        const by = first === undefined || second === undefined ? undefined : second.diameter_mm - first.diameter_mm;
        return row([length(station), length(first?.diameter_mm), length(second?.diameter_mm), by === undefined ? "" : signed(Number(length(by)), unit === "in" ? 3 : 2), first === undefined ? "" : `${first.half_angle_deg.toFixed(2)}°`, second === undefined ? "" : `${second.half_angle_deg.toFixed(2)}°`, area(first?.open_area_mm2), area(second?.open_area_mm2)]);
      }),
    ),
  );
}

export function alongCsv(comparison: Comparison): string {
  const cell = (value: number | undefined, places: number) => value?.toFixed(places) ?? "";
  const lines = along(comparison).map(({ station, first, second }) => {
    const by = first === undefined || second === undefined ? undefined : second.diameter_mm - first.diameter_mm;
    return [station.toFixed(3), cell(first?.diameter_mm, 4), cell(second?.diameter_mm, 4), cell(by, 4), cell(first?.half_angle_deg, 4), cell(second?.half_angle_deg, 4), cell(first?.open_area_mm2, 3), cell(second?.open_area_mm2, 3)].join(",");
  });
  return `station_mm,a_diameter_mm,b_diameter_mm,difference_mm,a_half_angle_deg,b_half_angle_deg,a_open_area_mm2,b_open_area_mm2\n${lines.join("\n")}\n`;
}
