// The octave key as the maker moves it: in what steps, and how far the pad is off the vent.
import type { Axes, PartInfo } from "../worker/protocol.ts";

/** One step of the arrow keys, degrees. */
const STEP_DEG = 0.05;

/** How many steps there are from closed to open; the last one may be a short one. */
export function stepsOf(openAngleDeg: number): number {
  return Math.max(1, Math.ceil(openAngleDeg / STEP_DEG - 1e-9));
}

/** Angle of a step. The last is the open key, exactly. */
export function degOfStep(step: number, openAngleDeg: number): number {
  return Number(Math.min(step * STEP_DEG, openAngleDeg).toFixed(7));
}

export function stepOfDeg(deg: number, openAngleDeg: number): number {
  return deg >= openAngleDeg ? stepsOf(openAngleDeg) : Math.round(deg / STEP_DEG);
}

/** Rise of the pad's middle along the vent, millimetres, when `lift` is its rise with the key open. */
export function padLiftMm(parts: readonly PartInfo[], axes: Axes, liftMm: number, openAngleDeg: number, deg: number): number {
  const [pad, vent] = [middleOf(parts, "pad"), middleOf(parts, "vent")];
  if (pad === undefined || vent === undefined) return (liftMm * deg) / openAngleDeg;
  // both are round about the vent's axis, which lies in the plane of the bend as the key's turn does
  const up = { x: pad.x - vent.x, z: pad.z - vent.z };
  const [hingeX, , hingeZ] = axes.key.pointMm;
  const arm = { x: pad.x - hingeX, z: pad.z - hingeZ };
  const rise = (degrees: number) => {
    const angle = (degrees * Math.PI) / 180;
    // a turn about +Y leads from z to x
    return (arm.z * up.x - arm.x * up.z) * Math.sin(angle) - (arm.x * up.x + arm.z * up.z) * (1 - Math.cos(angle));
  };
  // held against the lift of the open key: the middle of the pad is not quite the middle of its face
  return (liftMm * rise(deg)) / rise(openAngleDeg);
}

function middleOf(parts: readonly PartInfo[], id: string): { x: number; z: number } | undefined {
  const box = parts.find((part) => part.id === id)?.bboxMm;
  return box === undefined ? undefined : { x: (box[0][0] + box[1][0]) / 2, z: (box[0][2] + box[1][2]) / 2 };
}
