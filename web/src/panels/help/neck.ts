// The neck of the drawings, seen from the side: cork end on the left, tenon at the lower right.
import { line, type Mark, type Picture, type Point, pt, shape } from "./sheet.ts";

const START: Point = [20, 46];
const STRAIGHT = 78;
export const BEND: Point = [98, 112];
export const BEND_RADIUS = 66;
const TURN = (BEND_RADIUS * Math.PI) / 2;
export const END = STRAIGHT + TURN + 32;
/** Where the collar's seat is. */
export const SEAT = END - 22;

/** Outside radius at a station. */
export const out = (s: number) => 9 + 0.02 * s;

/** Point at a station, `h` above the centreline. */
export function at(s: number, h: number): Point {
  if (s <= STRAIGHT) return [START[0] + s, START[1] - h];
  if (s >= STRAIGHT + TURN) return [BEND[0] + BEND_RADIUS + h, BEND[1] + s - STRAIGHT - TURN];
  const turn = (s - STRAIGHT) / BEND_RADIUS;
  return [BEND[0] + (BEND_RADIUS + h) * Math.sin(turn), BEND[1] - (BEND_RADIUS + h) * Math.cos(turn)];
}

function course(from: number, to: number, h: (s: number) => number): Point[] {
  const steps = Math.max(1, Math.ceil(Math.abs(to - from) / 6));
  return Array.from({ length: steps + 1 }, (_, step) => {
    const s = from + ((to - from) * step) / steps;
    return at(s, h(s));
  });
}

/** What lies along the neck between two stations and two heights over the outside (below it with `side` -1). */
export function strip(from: number, to: number, low: number, high: number, side: 1 | -1 = 1): string {
  return shape(...course(from, to, (s) => side * (out(s) + high)), ...course(to, from, (s) => side * (out(s) + low)));
}

export const tube = shape(...course(0, SEAT, out), ...course(SEAT, 0, (s) => -out(s)));
export const tenon = `${shape(...course(SEAT - 7, SEAT, (s) => out(s) + 3), ...course(SEAT, SEAT - 7, (s) => -out(s) - 3))} ${shape(...course(SEAT, END, (s) => out(s) + 0.5), ...course(END, SEAT, (s) => -out(s) - 0.5))}`;
export const centreline = line(...course(0, END, () => 0));

/** Length along the centreline, drawn `h` from it. */
export function run(from: number, to: number, h: number): Mark {
  const path = course(from, to, () => h).map(pt).join("L");
  const end = (s: number): [Point, Point] => [at(s, 0), at(s, h + Math.sign(h) * 4)];
  return { kind: "along", path: `M${path}`, ends: [end(from), end(to)] };
}

/** The neck with something on it. */
export function onNeck(says: string, parts: readonly string[], marks: Picture["marks"]): Picture {
  return { says, beside: [tube, tenon], metal: parts, axes: [centreline], marks };
}
