// Where on the outside of the tube a line of sight points: station along it and azimuth round it.
import { between, type Spot } from "../state/places.ts";
import type { Unrolled } from "../worker/protocol.ts";
import { add, dot, subtract, type Vec3 } from "./camera.ts";

/** How far from where the hand was before it is looked for: a neck bends back on itself, and a hand does not jump. */
const REACH_MM = 40;
/** Steps to the place; each leaves a small part of the error of the one before. */
const STEPS = 8;
const STEP_MM = 6;

export interface Sight {
  from: Vec3;
  /** Unit vector away from the eye. */
  along: Vec3;
}

/**
 * The place on the tube nearest to the eye that the line of sight meets, or that it passes closest by. `before` is where the
 * hand was, undefined when it comes to the tube for the first time.
 */
export function spotOnTube(tube: Unrolled["along"], sight: Sight, before: Spot | undefined): Spot {
  let stationMm = nearestStation(tube, sight, before);
  let azimuthDeg = before?.azimuthDeg ?? 0;
  const [first, last] = [tube[0]?.station_mm ?? 0, tube.at(-1)?.station_mm ?? 0];
  for (let step = 0; step < STEPS; step += 1) {
    const of = (number: (at: Unrolled["along"][number]) => number) => between(tube, stationMm, number);
    const [dx, dz] = [of((at) => at.dx), of((at) => at.dz)];
    const tangent: Vec3 = [dx, 0, dz];
    const up: Vec3 = [-dz, 0, dx];
    const radius = of((at) => at.radius_mm);
    const from = subtract(sight.from, [of((at) => at.x_mm), 0, of((at) => at.z_mm)]);
    // the tube as a cylinder along its tangent here
    const across = (vector: Vec3): Vec3 => add(vector, tangent, -dot(vector, tangent));
    const [start, way] = [across(from), across(sight.along)];
    const square = dot(way, way);
    // along the tube there is nothing to be told from a line of sight
    if (square < 1e-3) break;
    const middle = -dot(start, way) / square;
    const nearest = add(start, way, middle);
    const inside = radius * radius - dot(nearest, nearest);
    const distance = middle - Math.sqrt(Math.max(inside, 0) / square);
    const point = add(from, sight.along, distance);
    azimuthDeg = (Math.atan2(point[1], dot(point, up)) * 180) / Math.PI;
    const ahead = Math.min(Math.max(dot(point, tangent), -STEP_MM), STEP_MM);
    stationMm = Math.min(Math.max(stationMm + ahead, first), last);
    if (Math.abs(ahead) < 1e-6) break;
  }
  if (before !== undefined) azimuthDeg += 360 * Math.round((before.azimuthDeg - azimuthDeg) / 360);
  return { stationMm, azimuthDeg };
}

/** The station whose centre the line of sight passes closest by. */
function nearestStation(tube: Unrolled["along"], { from, along }: Sight, before: Spot | undefined): number {
  let [nearest, least] = [0, Infinity];
  for (const { station_mm, x_mm, z_mm } of tube) {
    if (before !== undefined && Math.abs(station_mm - before.stationMm) > REACH_MM) continue;
    const to = subtract([x_mm, 0, z_mm], from);
    const off = add(to, along, -dot(to, along));
    const square = dot(off, off);
    if (square < least) [nearest, least] = [station_mm, square];
  }
  return nearest;
}
