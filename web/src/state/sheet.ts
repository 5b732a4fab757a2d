// The sheet the blanks are laid on, as a sheet file says it, and what else the maker chose in that room. Whether its numbers
// can be is the core's to say, all at once.
import offcut from "../../../examples/sheets/offcut.json" with { type: "json" };
import sheet from "../../../examples/sheets/sheet_305x610.json" with { type: "json" };
import sheets from "../../../examples/sheets/sheets_305x305.json" with { type: "json" };
import strip from "../../../examples/sheets/strip_300.json" with { type: "json" };
import { isObject, type Json, type JsonObject, sameJson, valueAt } from "./json.ts";
import { type LengthUnit, fieldText, plainNumber, readNumber } from "./lengths.ts";

/** Sheets to begin with. */
export const STARTING_SHEETS: readonly { name: string; sheet: JsonObject }[] = [
  { name: "One sheet, 305 × 610 mm", sheet },
  { name: "Small sheets, 305 × 305 mm", sheet: sheets },
  { name: "A strip, 300 mm wide", sheet: strip },
  { name: "An off-cut with a hole (invented)", sheet: offcut },
];

export const FIRST_SHEET: JsonObject = sheet;

/** A sheet file is a few kilobytes; what is a hundred times that is something else. */
const LARGEST_SHEET_BYTES = 500_000;

export type ReadSheet = { sheet: JsonObject } | { why: string };

const TOO_LARGE: ReadSheet = { why: "it is far larger than a sheet file" };

/** A file on the maker's disk: one that is far too large is not even read. */
export async function readSheetFile(file: Blob): Promise<ReadSheet> {
  return file.size > LARGEST_SHEET_BYTES ? TOO_LARGE : readSheetText(await file.text());
}

/** A file that says it is a sheet. */
export function readSheetText(text: string): ReadSheet {
  if (text.length > LARGEST_SHEET_BYTES) return TOO_LARGE;
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return { why: "it is no sheet file (it cannot be read as JSON)" };
  }
  const format = isObject(value as Json) ? (value as JsonObject)["format"] : undefined;
  if (typeof format !== "string" || !format.startsWith("neckwright-sheet/")) return { why: "it is no sheet file (it has no format “neckwright-sheet/…”)" };
  return { sheet: value as JsonObject };
}

/** What kind of metal is at hand. */
export type Stock = "sheet" | "strip" | "offcut";

export function stockOf(sheet: Json): Stock {
  const metal = valueAt(sheet, ["metal"]);
  if (valueAt(metal, ["strip_width_mm"]) !== undefined) return "strip";
  return valueAt(metal, ["border"]) !== undefined ? "offcut" : "sheet";
}

/** The corners of the sheet at hand, without holes: what an off-cut begins as. Of a strip, as long as it is wide. */
function outlineOf(sheet: Json): Json {
  const metal = valueAt(sheet, ["metal"]);
  const size = (name: string) => {
    const value = valueAt(metal, [name]) ?? valueAt(metal, ["strip_width_mm"]);
    return typeof value === "number" ? value : 300;
  };
  const [length, width] = [size("length_mm"), size("width_mm")];
  const corners = [[0, 0], [length, 0], [length, width], [0, width]] as const;
  return { border: corners.map(([x_mm, y_mm]) => ({ x_mm, y_mm })), holes: [] };
}

/** What a sheet is called by its size. */
function calledBySize(sheet: Json): string {
  const size = (name: string) => plainNumber(Number(valueAt(sheet, ["metal", name]) ?? 0));
  const stock = stockOf(sheet);
  return stock === "strip" ? `strip ${size("strip_width_mm")} mm` : stock === "offcut" ? "off-cut" : `sheet ${size("width_mm")} x ${size("length_mm")} mm`;
}

/** Another metal than before. A sheet that was called by its size is called by its new one; a name the maker gave stays. */
export function withName(sheet: JsonObject, before: JsonObject): JsonObject {
  const name = valueAt(before, ["name"]);
  const given = name !== calledBySize(before) && !STARTING_SHEETS.some(({ sheet: known }) => known["name"] === name);
  const same = sameJson(valueAt(sheet, ["metal"]) ?? null, valueAt(before, ["metal"]) ?? null);
  return given || same || valueAt(sheet, ["name"]) !== name ? sheet : { ...sheet, name: calledBySize(sheet) };
}

/** Another kind of metal: the sizes it had when it was that kind last, or those of the sheet to begin with. */
export function withStock(sheet: JsonObject, stock: Stock, before: ReadonlyMap<Stock, Json>): JsonObject {
  const fresh = { sheet: FIRST_SHEET["metal"], strip: (strip as JsonObject)["metal"], offcut: outlineOf(sheet) }[stock];
  const wanted = valueAt(sheet, ["wanted"]);
  const isStrip = stock === "strip";
  const fits = isStrip === (wanted === "shortest_strip");
  return { ...sheet, metal: before.get(stock) ?? fresh ?? null, wanted: fits ? (wanted ?? null) : isStrip ? "shortest_strip" : "most_pieces" };
}

/** Corners of a border or of holes as lines of two numbers; an empty line stands between two holes. */
export function cornersText(rings: readonly Json[], unit: LengthUnit): string {
  const corner = (at: Json) => `${fieldOf(valueAt(at, ["x_mm"]), unit)} ${fieldOf(valueAt(at, ["y_mm"]), unit)}`;
  return rings.map((ring) => (Array.isArray(ring) ? ring.map(corner).join("\n") : "")).join("\n\n");
}

function fieldOf(value: Json | undefined, unit: LengthUnit): string {
  return typeof value === "number" ? fieldText(value, unit) : "?";
}

/** The rings that such a text stands for, or the number of the line that is no two numbers. */
export function readCorners(text: string, unit: LengthUnit): { rings: Json[][] } | { line: number; text: string } {
  const rings: Json[][] = [];
  let open: Json[] | undefined;
  for (const [index, line] of text.split("\n").entries()) {
    const words = line.trim().split(/[\s;]+/).filter((word) => word !== "");
    if (words.length === 0) {
      open = undefined;
      continue;
    }
    const [x, y] = words.map((word) => readNumber(word, unit));
    if (words.length !== 2 || x === undefined || y === undefined) return { line: index + 1, text: line.trim() };
    if (open === undefined) rings.push((open = []));
    open.push({ x_mm: x, y_mm: y });
  }
  return { rings };
}

/** Stations at which gauges are wanted, as a line of numbers. */
export function stationsText(stations: Json | undefined, unit: LengthUnit): string {
  return Array.isArray(stations) ? stations.map((station) => fieldOf(station, unit)).join("  ") : "";
}

export function readStations(text: string, unit: LengthUnit): number[] | undefined {
  const words = text.split(/[\s;]+/).filter((word) => word !== "");
  const all = words.map((word) => readNumber(word, unit));
  return all.includes(undefined) ? undefined : (all as number[]);
}

/** Another order whose half shells come from the same sheet. */
export interface OtherOrder {
  name: string;
  job: Json;
  halves: number;
}

/** What the maker chose in the room of the blanks. */
export interface Choice {
  sheet: JsonObject;
  others: readonly OtherOrder[];
  seed: number;
  seconds: number;
  paper: "a4" | "letter";
}

export const FIRST_CHOICE: Choice = { sheet: FIRST_SHEET, others: [], seed: 1, seconds: 10, paper: "a4" };
