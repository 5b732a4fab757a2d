// Where on the outside of the tube a line of sight points: station along it and azimuth round it.
import { between, type Spot } from "../state/places.ts";
import type { Unrolled } from "../worker/protocol.ts";
import { add, dot, subtract, type Vec3 } from "./camera.ts";

/** How far from where the hand was before it is looked for: a neck bends back on itself, and a hand does not jump. */
const REACH_MM = 45;
/** Halvings between two stations that are known, to well under a hundredth of a millimetre. */
const HALVINGS = 12;

export interface Sight {
  from: Vec3;
  /** Unit vector away from the eye. */
  along: Vec3;
}

/** Where the line of sight meets the tube taken as a cylinder along its tangent at one station. */
interface Met {
  /** How far beyond the station, along the tangent: 0 where it meets the tube itself. */
  aheadMm: number;
  azimuthDeg: number;
  /** How far the line passes by outside the tube, mm; 0 where it meets it. */
  missMm: number;
  /** From the eye. */
  farMm: number;
}

/**
 * The place on the tube that the line of sight meets on the side of the eye, or that it passes closest by. `before` is where
 * the hand was: of several places the nearest to it is meant; when it comes to the tube for the first time, the one in front.
 */
export function spotOnTube(tube: Unrolled["along"], sight: Sight, before: Spot | undefined): Spot {
  const stations = tube.map(({ station_mm }) => station_mm).filter((station) => before === undefined || Math.abs(station - before.stationMm) <= REACH_MM);
  const looked = stations.map((station) => ({ station, met: meet(tube, sight, station) }));
  let best: { spot: Spot; cost: number } | undefined;
  for (const [index, { station, met }] of looked.entries()) {
    const next = looked[index + 1];
    if (next === undefined || met === undefined || next.met === undefined || met.aheadMm < 0 || next.met.aheadMm >= 0) continue;
    let [low, high] = [station, next.station];
    for (let halving = 0; halving < HALVINGS; halving += 1) {
      const middle = (low + high) / 2;
      if ((meet(tube, sight, middle)?.aheadMm ?? 0) >= 0) low = middle;
      else high = middle;
    }
    const here = meet(tube, sight, low);
    if (here === undefined) continue;
    const cost = before === undefined ? here.missMm * 1e3 + here.farMm : Math.abs(low - before.stationMm);
    if (best === undefined || cost < best.cost) best = { spot: { stationMm: low, azimuthDeg: here.azimuthDeg }, cost };
  }
  // beyond both ends, or along the tube, a line of sight says nothing
  if (best === undefined) return before ?? { stationMm: tube[0]?.station_mm ?? 0, azimuthDeg: 0 };
  const turns = before === undefined ? 0 : Math.round((before.azimuthDeg - best.spot.azimuthDeg) / 360);
  return { stationMm: best.spot.stationMm, azimuthDeg: best.spot.azimuthDeg + 360 * turns };
}

function meet(tube: Unrolled["along"], sight: Sight, stationMm: number): Met | undefined {
  const of = (number: (at: Unrolled["along"][number]) => number) => between(tube, stationMm, number);
  const [dx, dz] = [of((at) => at.dx), of((at) => at.dz)];
  const tangent: Vec3 = [dx, 0, dz];
  const up: Vec3 = [-dz, 0, dx];
  const radius = of((at) => at.radius_mm);
  const from = subtract(sight.from, [of((at) => at.x_mm), 0, of((at) => at.z_mm)]);
  const across = (vector: Vec3): Vec3 => add(vector, tangent, -dot(vector, tangent));
  const [start, way] = [across(from), across(sight.along)];
  const square = dot(way, way);
  if (square < 1e-3) return undefined;
  const middle = -dot(start, way) / square;
  const nearest = add(start, way, middle);
  const off = Math.sqrt(dot(nearest, nearest));
  const farMm = middle - Math.sqrt(Math.max(radius * radius - off * off, 0) / square);
  const point = add(from, sight.along, farMm);
  return {
    aheadMm: dot(point, tangent),
    azimuthDeg: (Math.atan2(point[1], dot(point, up)) * 180) / Math.PI,
    missMm: Math.max(off - radius, 0),
    farMm,
  };
}
