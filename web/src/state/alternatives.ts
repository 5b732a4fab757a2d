// The same thing said another way: when the maker changes how a centreline, a bore or a wall is given, the new fields
// start from what the old ones said. Starting points for the maker's own numbers, no more exact than that.
import type { Json, JsonObject } from "./json.ts";
import { isObject, valueAt } from "./json.ts";

/** Thickness of gauge 36 is 0.005 in, of gauge 0000 0.46 in, and each step between is the same ratio (ASTM B258). */
const GAUGE_STEP = 92 ** (1 / 39);
const GAUGE_36_MM = 0.127;

/** Points a bend is sampled with when it is turned into a table. */
const POINTS = 12;

const round = (value: number) => Number(value.toFixed(3));

const number = (value: Json | undefined, otherwise: number) => (typeof value === "number" ? value : otherwise);

function rows(value: Json | undefined): JsonObject[] {
  return Array.isArray(value) ? value.filter(isObject) : [];
}

/** Fields of `wanted` that can be said from what the section holds now. `job` tells the length of the neck. */
export function translated(section: string, now: JsonObject, wanted: ReadonlySet<string>, job: Json): JsonObject {
  if (section === "tube" && wanted.has("wall_gauge")) {
    const wall = number(now["wall_mm"], 0.7);
    return { wall_gauge: Math.round(36 - Math.log(wall / GAUGE_36_MM) / Math.log(GAUGE_STEP)) };
  }
  if (section === "tube" && wanted.has("wall_mm")) {
    return { wall_mm: round(GAUGE_36_MM * GAUGE_STEP ** (36 - number(now["wall_gauge"], 21))) };
  }
  if (section === "bore" && wanted.has("table")) return coneAsTable(now, lengthOf(valueAt(job, ["centreline"])));
  if (section === "bore" && wanted.has("half_angle_deg")) return tableAsCone(rows(now["table"]));
  if (section === "centreline" && wanted.has("points")) return piecesAsPoints(rows(now["pieces"]));
  if (section === "centreline" && wanted.has("pieces")) return pointsAsPieces(now);
  return {};
}

function coneAsTable(cone: JsonObject, length: number): JsonObject {
  const entry = number(cone["entry_diameter_mm"], 12);
  const slope = 2 * Math.tan((number(cone["half_angle_deg"], 1.5) * Math.PI) / 180);
  const steps = 6;
  return {
    table: Array.from({ length: steps + 1 }, (_, step) => {
      const station = (length * step) / steps;
      return { station_mm: round(station), diameter_mm: round(entry + slope * station) };
    }),
  };
}

function tableAsCone(table: JsonObject[]): JsonObject {
  const first = table[0];
  const last = table.at(-1);
  const entry = number(first?.["diameter_mm"], 12);
  const rise = number(last?.["diameter_mm"], entry) - entry;
  const run = number(last?.["station_mm"], 1) - number(first?.["station_mm"], 0);
  return { entry_diameter_mm: entry, half_angle_deg: round((Math.atan2(rise / 2, Math.max(run, 1)) * 180) / Math.PI) };
}

/** Length of a centreline; points are joined by chords. */
function lengthOf(centreline: Json | undefined): number {
  if (!isObject(centreline)) return 200;
  const pieces = rows(centreline["pieces"]);
  if (pieces.length > 0) {
    return pieces.reduce((sum, piece) => sum + number(piece["straight_mm"], arcLength(piece)), 0);
  }
  const points = rows(centreline["points"]);
  const start = startOf(centreline);
  const chords = points.reduce((sum, point, index) => sum + distance(points[index - 1] ?? start, point), 0);
  return number(centreline["straight_start_mm"], 0) + chords + number(centreline["straight_end_mm"], 0);
}

/** The end of the straight start: measured points come after it. */
function startOf(centreline: JsonObject): JsonObject {
  return { x_mm: number(centreline["straight_start_mm"], 0), z_mm: 0 };
}

function arcLength(piece: JsonObject): number {
  return (Math.abs(number(piece["bend_deg"], 0)) * Math.PI * number(piece["radius_mm"], 0)) / 180;
}

function distance(a: JsonObject, b: JsonObject): number {
  return Math.hypot(number(b["x_mm"], 0) - number(a["x_mm"], 0), number(b["z_mm"], 0) - number(a["z_mm"], 0));
}

function piecesAsPoints(pieces: JsonObject[]): JsonObject {
  const first = pieces[0];
  const last = pieces.at(-1);
  const start = Math.max(number(first?.["straight_mm"], 0), 5);
  const end = pieces.length > 1 ? number(last?.["straight_mm"], 0) : 0;
  const between = pieces.slice(first !== undefined && "straight_mm" in first ? 1 : 0, end > 0 ? -1 : undefined);
  const total = lengthOf({ pieces: between });
  const points: JsonObject[] = [];
  let x = start;
  let z = 0;
  let down = 0;
  for (const piece of between) {
    const length = number(piece["straight_mm"], arcLength(piece));
    const turn = (number(piece["bend_deg"], 0) * Math.PI) / 180;
    const steps = Math.max(2, Math.round((POINTS * length) / Math.max(total, 1)));
    for (let step = 0; step < steps; step += 1) {
      // a chord of an arc points half way between the tangents at its ends
      const angle = turn / steps;
      const chord = angle === 0 ? length / steps : (length / steps) * (Math.sin(angle / 2) / (angle / 2));
      x += chord * Math.cos(down + angle / 2);
      z -= chord * Math.sin(down + angle / 2);
      down += angle;
      points.push({ x_mm: round(x), z_mm: round(z) });
    }
  }
  return { straight_start_mm: start, points, straight_end_mm: Math.max(end, 5) };
}

/** One bend between two straight ends, with the turn of the last chord and the distance of the end points. */
function pointsAsPieces(now: JsonObject): JsonObject {
  const points = rows(now["points"]);
  const first = startOf(now);
  const last = points.at(-1) ?? {};
  const turn = 2 * Math.atan2(number(first["z_mm"], 0) - number(last["z_mm"], 0), number(last["x_mm"], 0) - number(first["x_mm"], 0));
  const radius = distance(first, last) / (2 * Math.sin(Math.abs(turn) / 2) || 1);
  return {
    pieces: [
      { straight_mm: number(now["straight_start_mm"], 40) },
      { bend_deg: round((turn * 180) / Math.PI), radius_mm: round(radius) },
      { straight_mm: number(now["straight_end_mm"], 30) },
    ],
  };
}
