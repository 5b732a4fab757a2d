// What the core's thread and that of its helper say to one another. A round is one job.
import type { Json } from "../state/json.ts";

export type ToHelper =
  /** Build the bodies of this job. */
  | { kind: "job"; round: number; job: Json }
  /** Measure rows of it from the last to the first, until the round is over. */
  | { kind: "rows"; round: number; rows: readonly number[] }
  | { kind: "over"; round: number };

export type FromHelper =
  /** The core is loaded. */
  | { kind: "ready" }
  /** Rows as numbers, one after the other. */
  | { kind: "measured"; round: number; rows: Float64Array<ArrayBuffer> }
  /** It can do nothing more. */
  | { kind: "failed" };
