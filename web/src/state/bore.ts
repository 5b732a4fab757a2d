// Two bores beside each other: where they come from, a bore as a table, and how a table goes into a job or a file.
import tighter from "../../../examples/bores/alto_tighter.json" with { type: "json" };
import moreOpen from "../../../examples/bores/alto_more_open.json" with { type: "json" };
import inventedHorn from "../../../examples/bores/horn_invented.json" with { type: "json" };
import coneHorn from "../../../examples/bores/horn_stand_in.json" with { type: "json" };
import { isObject, type Json, type JsonObject, valueAt, withValue } from "./json.ts";
import { LARGEST_JOB_BYTES } from "./job-file.ts";

/** A measured or wanted place of a bore. */
export interface BoreRow {
  station_mm: number;
  diameter_mm: number;
}

/** The job on the bench, among the places a bore comes from. */
export const BENCH = "bench";
/** The first bore once more, to be changed. */
export const SAME = "same";

/** Bores of our own making. */
export const SHIPPED: readonly { id: string; name: string; job: Json }[] = [
  { id: "shipped-tighter", name: "Tighter at the entry (an invented alto)", job: tighter },
  { id: "shipped-more-open", name: "More open at the entry (an invented alto)", job: moreOpen },
];

/** A plain cone for the body of the horn. */
export const CONE = "cone";
export const CONE_HORN = coneHorn as Json;
export const SHIPPED_HORN = { id: "shipped-horn", name: "An invented alto body, with its holes", horn: inventedHorn as Json };

/** A file that was opened in this room. */
export interface OpenedFile {
  id: string;
  name: string;
  json: Json;
}

/** What the maker chose in this room. */
export interface BoreChoice {
  first: string;
  second: string;
  /** The second bore as it was changed; undefined while it is its job's own. */
  rows: readonly BoreRow[] | undefined;
  horn: string;
  /** What was set of air and mouthpiece instead of what the horn's file says, by the path there; as typed where it is no number. */
  set: Readonly<Record<string, number | string | null>>;
  /** What can be made, where it is not the usual. */
  limits: Readonly<Record<string, number | string | null>>;
  jobs: readonly OpenedFile[];
  horns: readonly OpenedFile[];
}

export const FIRST_CHOICE: BoreChoice = { first: BENCH, second: "", rows: undefined, horn: CONE, set: {}, limits: {}, jobs: [], horns: [] };

/** A horn's file with what was set instead of what it says. */
export function withSet(horn: Json, set: BoreChoice["set"]): Json {
  return Object.entries(set).reduce((file, [path, value]) => withValue(file, path.split("."), value), horn);
}

/** Most rows a table is read with here; the core allows fewer, and says so. */
const MOST_ROWS = 1000;

/** The table of a job's bore; undefined where it is a plain taper, or none at all. */
export function tableOf(job: Json): readonly BoreRow[] | undefined {
  return readRows(valueAt(job, ["bore", "table"]));
}

/** Rows as they come from a file or the browser's store. */
export function readRows(value: Json | undefined): readonly BoreRow[] | undefined {
  if (!Array.isArray(value) || value.length > MOST_ROWS) return undefined;
  const rows = value.map((row) => ({ station_mm: valueAt(row, ["station_mm"]), diameter_mm: valueAt(row, ["diameter_mm"]) }));
  return rows.every((row): row is BoreRow => Number.isFinite(row.station_mm) && Number.isFinite(row.diameter_mm)) ? rows : undefined;
}

/** A job with this bore; all else of it stays. */
export function withRows(job: Json, rows: readonly BoreRow[]): Json {
  return withValue(job, ["bore"], { table: rows.map(({ station_mm, diameter_mm }) => ({ station_mm, diameter_mm })) });
}

/** For the core: a line for each row and nothing else, so that the line it names is the row. */
export function linesOf(rows: readonly BoreRow[]): string {
  return rows.map(({ station_mm, diameter_mm }) => `${station_mm},${diameter_mm}`).join("\n");
}

/** For a file: to a thousandth of a millimetre, with the names of the columns. */
export function csvOf(rows: readonly BoreRow[]): string {
  return `station_mm,diameter_mm\n${rows.map(({ station_mm, diameter_mm }) => `${station_mm.toFixed(3)},${diameter_mm.toFixed(3)}\n`).join("")}`;
}

/** The row that what the core says is about; undefined where it is about the table as a whole. */
export function rowOfPath(path: string, count: number): number | undefined {
  const found = /^(?:rows\[(\d+)\]|line (\d+))/.exec(path);
  if (found?.[1] !== undefined) return Number(found[1]);
  if (found?.[2] !== undefined) return Number(found[2]) - 1;
  return path.startsWith("the last row") ? count - 1 : undefined;
}

/** Diameter at a station, straight between the places that are told. */
export function diameterAt(places: readonly BoreRow[], stationMm: number): number {
  const next = places.findIndex(({ station_mm }) => station_mm >= stationMm);
  const after = places[next === -1 ? places.length - 1 : next];
  const before = places[Math.max(0, next - 1)];
  if (after === undefined || before === undefined) return 0;
  const run = after.station_mm - before.station_mm;
  if (next <= 0 || run <= 0) return after.diameter_mm;
  return before.diameter_mm + ((stationMm - before.station_mm) / run) * (after.diameter_mm - before.diameter_mm);
}

export type ReadHorn = { horn: JsonObject } | { why: string };

/** A file that says it is a horn. What is wrong with its numbers is the core's to say. */
export function readHornText(text: string): ReadHorn {
  if (text.length > LARGEST_JOB_BYTES) return { why: "it is far larger than a horn file" };
  let value: Json;
  try {
    value = JSON.parse(text) as Json;
  } catch {
    return { why: "it is no horn file (it cannot be read as JSON)" };
  }
  const format = valueAt(value, ["format"]);
  if (!isObject(value) || typeof format !== "string" || !format.startsWith("neckwright-horn/")) return { why: "it is no horn file (it has no format “neckwright-horn/…”)" };
  return { horn: value };
}
