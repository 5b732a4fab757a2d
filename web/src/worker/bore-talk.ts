// What is asked of the core that compares bores, and what it answers.
import type { AimAsked, Aimed, Bump, Comparison, Disturbance, Followed, Makeable, NeckSaid, NoteShift, OctaveCompared, Violation } from "../../pkg/neckwright_bore.js";
import type { BoreRow } from "../state/bore.ts";
import type { Json } from "../state/json.ts";

export type { Aimed, Bump, Comparison, Disturbance, Followed, Makeable, NeckSaid, NoteShift, OctaveCompared, Violation };

export interface Neck {
  name: string;
  job: Json;
}

/** Two necks on one horn. */
export interface Pair {
  a: Neck;
  b: Neck;
  /** The second's bore instead of its job's own, a line for each row. */
  lines: string | undefined;
  /** A horn file. */
  horn: Json;
}

/** Why there is no comparison, and what it lies at. */
export interface Refusal {
  of: "first" | "second" | "rows" | "horn" | "both" | "aim";
  violations: Violation[];
}

/** Size of the impedance at the reed of one fingering on both necks, Pa·s/m³, at even steps of frequency. */
export interface Curve {
  fromHz: number;
  toHz: number;
  a: Float64Array;
  b: Float64Array;
}

export interface Curves {
  written: string;
  whole: Curve;
  /** About the peak the note is played on. */
  near: Curve;
}

/** `broken`: rules of the job that the rows break, though they are a bore of the neck. */
export type BoreRead = { ok: true; rows: BoreRow[]; bumps: Bump[]; broken: Violation[] } | { ok: false; violations: Violation[] };

export type BoreTalk = {
  /** The bore of a job as rows. */
  rows: { ask: Neck; answer: BoreRead };
  /** Rows of a text, if they are a bore of this neck. */
  read: { ask: Neck & { csv: string; bumpMm: number }; answer: BoreRead };
  /** The nearest rows that never narrow and have no bump beyond the limit. */
  fair: { ask: Neck & { csv: string; bumpMm: number }; answer: BoreRead };
  /** The second beside the first, with what can usually be made towards an aim and the curves of one note (of what a player would notice first, where that note is none of the horn's). */
  compare: { ask: Pair & { written: string }; answer: { ok: true; comparison: Comparison; curves: Curves; usual: Makeable; milliseconds: number } | { ok: false; refusals: Refusal[] } };
  /** What is told while the second bore is being changed: the shifts, and nothing of what takes longer. */
  follow: { ask: Pair; answer: { ok: true; followed: Followed } | { ok: false; refusals: Refusal[] } };
  /** The smallest smooth change of the first bore that moves notes so. Limits go as they were typed where they are no numbers. */
  aim: { ask: Pair & { aim: { wanted: AimAsked["wanted"]; limits: Json } }; answer: { ok: true; aimed: Aimed } | { ok: false; refusals: Refusal[] } };
};
