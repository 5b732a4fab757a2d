// How the maker looks at the neck: from where, cut open where, which part alone, and what is measured between two points.
import type { Across, Clearance } from "../worker/protocol.ts";
import { type LengthUnit, lengthText } from "./lengths.ts";

type Point = readonly [number, number, number];

/** `bend`: along the plane of the bend. `across`: square to the centreline at a station. */
export type Cut = "none" | "bend" | "across";

/** A point picked on what is shown. */
export interface Picked {
  part: string;
  at: Point;
  /** How far the triangles that were hit may lie off the part's true surface; 0 on a cut face. */
  toleranceMm: number;
  onCut: boolean;
}

/** The distance being measured: by hand up to two points, or of a row of the list. */
export interface Measuring {
  /** Clicks on the view set points. */
  picking: boolean;
  points: readonly Picked[];
  row: Clearance | undefined;
  /** Why there is nothing to be told, in words. */
  says: string | undefined;
}

export const NOT_MEASURING: Measuring = { picking: false, points: [], row: undefined, says: undefined };

export interface Looking {
  open: boolean;
  /** The part that is shown alone; all others are faint. */
  alone: string | undefined;
  cut: Cut;
  /** Station of the cut across. */
  stationMm: number;
  /** The half that is usually taken away is left, and the other taken. */
  otherHalf: boolean;
  /** What the core says of the station, the last it was asked for. */
  across: Across | undefined;
  /** Parts that the cut goes through, in the order of the list. */
  cutParts: readonly string[];
  /** Lines that meet in the eye, as it sees them; else parallel ones, as on a drawing. */
  asSeen: boolean;
  measuring: Measuring;
}

export const PLAIN_LOOK: Looking = {
  open: false,
  alone: undefined,
  cut: "none",
  stationMm: 60,
  otherHalf: false,
  across: undefined,
  cutParts: [],
  asSeen: false,
  measuring: NOT_MEASURING,
};

export type Side = "left" | "right" | "top" | "below" | "cork" | "tenon";

/** Where the neck is looked at from: in words, and by which key while the view has the focus. */
export const SIDES: readonly { side: Side; name: string; key: string }[] = [
  { side: "left", name: "Player’s left", key: "l" },
  { side: "right", name: "Player’s right", key: "r" },
  { side: "top", name: "Top", key: "t" },
  { side: "below", name: "Below", key: "b" },
  { side: "cork", name: "Cork end", key: "c" },
  { side: "tenon", name: "Tenon end", key: "n" },
];

/** A plane, and which side of it is taken away. */
export interface CutPlane {
  point: Point;
  /** Unit vector into what is taken away. */
  away: Point;
}

/** A cut face lies this far inside what is left: the end of a part that lies in the cut is then clearly on one side. */
const OFF_ENDS_MM = 0.001;

export function cutPlane({ cut, across, otherHalf }: Looking): CutPlane | undefined {
  const turned = otherHalf ? -1 : 1;
  const off = ([x, y, z]: Point, [ax, ay, az]: Point): Point => [x - ax * OFF_ENDS_MM, y - ay * OFF_ENDS_MM, z - az * OFF_ENDS_MM];
  if (cut === "bend") {
    // the player's right is nearer to the eye when the neck is seen from the side
    const away: Point = [0, -turned, 0];
    return { point: off([0, 0, 0], away), away };
  }
  if (cut === "none" || across === undefined) return undefined;
  const [x, y, z] = across.towardsTenon;
  const away: Point = [x * turned, y * turned, z * turned];
  return { point: off(across.centreMm, away), away };
}

/** How the cut face of a part is hatched: by its place in the list, so that it keeps its hatch from one neck to the next. */
export interface Hatch {
  /** Direction of the lines, degrees from the face's own level. */
  deg: number;
  /** Lines one by one, in pairs, or crossed. */
  kind: 0 | 1 | 2;
}

/** Neighbours in the list, which are neighbours on the neck as often as not, lie far from one another. */
const HATCH_DEG = [45, -45, 15, -75, 75, -15] as const;

export function hatchOf(place: number): Hatch {
  return { deg: HATCH_DEG[place % HATCH_DEG.length] ?? 45, kind: (Math.floor(place / HATCH_DEG.length) % 3) as 0 | 1 | 2 };
}

/** The two ends of what is measured, once there are two. */
export function endsOf({ points, row }: Measuring): [Point, Point] | undefined {
  if (row !== undefined) return [row.a_point_mm, row.b_point_mm];
  const [a, b] = points;
  return a === undefined || b === undefined ? undefined : [a.at, b.at];
}

export function apart([ax, ay, az]: Point, [bx, by, bz]: Point): number {
  return Math.hypot(bx - ax, by - ay, bz - az);
}

/** `12.30 mm along, towards the tenon; 0.00 mm to the left or right; 4.00 mm down`: from the first point to the second, in the frame of the neck. */
export function stepsText([ax, ay, az]: Point, [bx, by, bz]: Point, unit: LengthUnit): string {
  const step = (value: number, plus: string, minus: string, none: string) => {
    const text = lengthText(Math.abs(value), unit);
    return `${text} ${unit} ${Number(text) === 0 ? none : value > 0 ? plus : minus}`;
  };
  return [
    step(bx - ax, "along, away from the cork end", "along, towards the cork end", "along"),
    step(by - ay, "to the left", "to the right", "to the left"),
    step(bz - az, "up", "down", "up"),
  ].join("; ");
}
