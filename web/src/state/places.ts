// The parts that are placed on the tube: which fields of the job say where each stands, what comes with it, and which way
// it can go.
import type { Unrolled } from "../worker/protocol.ts";
import { isObject, type Json, type JsonObject, valueAt } from "./json.ts";
import { type Field, type NumberField, planOf } from "./schema.ts";

/** Where a part stands: the station that its fields tell (a brace's is where it begins), and the azimuth round the tube. */
export interface Spot {
  stationMm: number;
  azimuthDeg: number;
}

export interface Movable {
  /** Section of the job, and id of the part. */
  id: string;
  /** What it is called when it is moved, with what comes with it. */
  name: string;
  /** Parts that come with it: to take hold of one of them is to take hold of it. */
  parts: readonly string[];
  /** Azimuth the job keeps it at; undefined where it may stand anywhere round the tube. */
  azimuthDeg: number | undefined;
  /** Which way it can go, and why no other. */
  says: string;
}

export const MOVABLES: readonly Movable[] = [
  { id: "brace", name: "brace", parts: ["brace"], azimuthDeg: 180, says: "The brace stays under the bend and moves along the tube, as long as it is." },
  { id: "saddle", name: "saddle with posts and key", parts: ["saddle", "post_left", "post_right", "hinge_tube", "hinge_screw", "key_arm", "spring", "spring_screw"], azimuthDeg: 0, says: "The saddle stays on top of the tube and moves along it, with posts and key." },
  { id: "vent", name: "octave vent with its pad", parts: ["vent", "pad", "pad_cup"], azimuthDeg: 0, says: "The vent stays on top of the tube and moves along it, with its pad." },
  { id: "guide", name: "key guide", parts: ["guide"], azimuthDeg: 0, says: "The guide stays on top of the tube, under the key, and moves along it." },
  { id: "badge", name: "badge", parts: ["badge"], azimuthDeg: undefined, says: "The badge moves along the tube and round it." },
  { id: "rod_loop", name: "rod loop", parts: ["rod_loop"], azimuthDeg: 0, says: "The rod loop goes round the neck and moves along it: its height over the collar's seat." },
];

/** Fields keep as many places as a maker would write. */
const written = (value: number) => Number(value.toFixed(4));

export function movableOf(part: string | undefined): Movable | undefined {
  return MOVABLES.find(({ parts }) => part !== undefined && parts.includes(part));
}

function numberAt(job: Json | undefined, section: string, key: string): number | undefined {
  const value = valueAt(job, [section, key]);
  return typeof value === "number" ? value : undefined;
}

/** Where a job has a part; undefined where it has none. */
export function spotOf(job: Json | undefined, { id, azimuthDeg }: Movable, unrolled: Unrolled): Spot | undefined {
  if (id === "rod_loop") {
    const above = numberAt(job, id, "above_seat_mm");
    return above === undefined ? undefined : { stationMm: unrolled.seat_station_mm - above, azimuthDeg: 0 };
  }
  const stationMm = numberAt(job, id, id === "brace" ? "from_station_mm" : "station_mm");
  const round = azimuthDeg ?? numberAt(job, id, "azimuth_deg");
  return stationMm === undefined || round === undefined ? undefined : { stationMm, azimuthDeg: round };
}

/** The part's section of the job with the part somewhere else: one change, however many fields it takes. */
function sectionAt(job: Json, { id, azimuthDeg }: Movable, spot: Spot, unrolled: Unrolled): JsonObject {
  const section = valueAt(job, [id]);
  const given = isObject(section) ? section : {};
  if (id === "rod_loop") return { ...given, above_seat_mm: written(unrolled.seat_station_mm - spot.stationMm) };
  if (id === "brace") {
    const length = (numberAt(job, id, "to_station_mm") ?? 0) - (numberAt(job, id, "from_station_mm") ?? 0);
    return { ...given, from_station_mm: written(spot.stationMm), to_station_mm: written(spot.stationMm + length) };
  }
  const moved = { ...given, station_mm: written(spot.stationMm) };
  return azimuthDeg === undefined ? { ...moved, azimuth_deg: written(spot.azimuthDeg) } : moved;
}

export function jobAt(job: Json, movable: Movable, spot: Spot, unrolled: Unrolled): Json {
  return { ...(isObject(job) ? job : {}), [movable.id]: sectionAt(job, movable, spot, unrolled) };
}

/** Stations that the fields of a part allow. */
export function stationRange(schema: Json | undefined, job: Json, { id }: Movable, unrolled: Unrolled): { from: number; to: number } {
  const range = (key: string) => {
    const field = schema === undefined ? undefined : numberField(planOf(schema, id), key);
    return { from: field?.min ?? -Infinity, to: field?.max ?? Infinity };
  };
  if (id === "rod_loop") {
    const above = range("above_seat_mm");
    return { from: unrolled.seat_station_mm - above.to, to: unrolled.seat_station_mm - above.from };
  }
  if (id !== "brace") return range("station_mm");
  const length = (numberAt(job, id, "to_station_mm") ?? 0) - (numberAt(job, id, "from_station_mm") ?? 0);
  const [from, to] = [range("from_station_mm"), range("to_station_mm")];
  return { from: Math.max(from.from, to.from - length), to: Math.min(from.to, to.to - length) };
}

function numberField(field: Field | undefined, key: string): NumberField | undefined {
  if (field?.kind === "optional") return numberField(field.inner, key);
  if (field?.kind !== "group") return undefined;
  const found = field.fields.find((candidate) => candidate.key === key)?.field;
  return found?.kind === "number" ? found : undefined;
}

/** Length of a part along the tube that its two numbers tell; 0 for one that is told by its middle. */
export function lengthOf(job: Json | undefined, { id }: Movable): number {
  return id === "brace" ? (numberAt(job, id, "to_station_mm") ?? 0) - (numberAt(job, id, "from_station_mm") ?? 0) : 0;
}

/** Radius of the tube's outside at a station. */
export function outsideAt({ along }: Unrolled, stationMm: number): number {
  return between(along, stationMm, ({ radius_mm }) => radius_mm);
}

/** A number of the tube at a station, between the two stations that are known beside it. */
export function between(along: Unrolled["along"], stationMm: number, number: (at: Unrolled["along"][number]) => number): number {
  const index = along.findIndex(({ station_mm }) => station_mm >= stationMm);
  const after = along[index === -1 ? along.length - 1 : Math.max(index, 1)];
  const before = along[(index === -1 ? along.length - 1 : Math.max(index, 1)) - 1];
  if (after === undefined || before === undefined) return 0;
  const share = Math.min(Math.max((stationMm - before.station_mm) / (after.station_mm - before.station_mm), 0), 1);
  return number(before) + (number(after) - number(before)) * share;
}
