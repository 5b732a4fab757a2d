// Which way a hand takes a part that can go along the tube and round it: a drag that has clearly begun one way is held to it,
// so that a part can be moved along without being turned.

export type Bearing = "along" | "round" | "both";

/** Way of the hand after which its bearing is known, CSS pixels. */
const KNOWN_AFTER_PX = 12;
/** One way is clear when it is so many times the other: within some fourteen degrees. */
const CLEARLY = 4;

/** The bearing of a drag that has come so far along and round on the tube's outside; undefined while it is too short to tell. */
export function bearingOf(alongMm: number, roundMm: number, mmPerPx: number): Bearing | undefined {
  const [along, round] = [Math.abs(alongMm), Math.abs(roundMm)];
  if (Math.hypot(along, round) < KNOWN_AFTER_PX * mmPerPx) return undefined;
  if (along >= CLEARLY * round) return "along";
  return round >= CLEARLY * along ? "round" : "both";
}

/** What it means for whoever holds the part. */
export function bearingText(bearing: Bearing | undefined): string {
  if (bearing === "along") return "It moves along only, as you began; begin slantwise to move it both ways. ";
  return bearing === "round" ? "It moves round only, as you began; begin slantwise to move it both ways. " : "";
}
