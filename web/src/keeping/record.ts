// What of the bench is kept, and how it is read back. A record says its version; what cannot be read is told and set aside,
// never taken for what it may not be and never thrown away.
import type { Aside, Bench } from "../state/bench.ts";
import { asJob } from "../state/job-file.ts";
import { type Json, sameJson } from "../state/json.ts";
import type { LengthUnit } from "../state/lengths.ts";
import type { Step, Steps } from "../state/steps.ts";

const FORMAT = "neckwright-bench/1";

export interface BenchRecord {
  format: string;
  /** One bench, one record: a tab that is opened again goes on with it. */
  id: string;
  /** Who wrote it last: another one for every time the page is loaded. */
  owner: string;
  /** Milliseconds since 1970. */
  changed: number;
  /** The page that wrote it has been left, and none writes it any more. */
  left: boolean;
  draft: Json;
  /** Of the neck that was shown, where it was not the draft's: the draft may hold faults. */
  good: Json | undefined;
  saved: Json | undefined;
  aside: Aside | undefined;
  steps: Step[];
  at: number;
  unit: LengthUnit;
  card: string;
}

/** What of the page is kept. */
export type Kept = Pick<Bench, "draft" | "good" | "saved" | "aside" | "steps" | "unit" | "card">;

export function recordOf({ draft, good, saved, aside, steps, unit, card }: Kept & { draft: Json }, whose: Pick<BenchRecord, "id" | "owner" | "changed" | "left">): BenchRecord {
  return { format: FORMAT, ...whose, draft, good: sameJson(good, draft) ? undefined : good, saved, aside, steps: [...steps.all], at: steps.at, unit, card };
}

/** Without what would be needed to take changes back: what is kept where there is room for no more. */
export function withoutSteps(record: BenchRecord): BenchRecord {
  return { ...record, steps: [{ job: record.steps[record.at]?.job ?? record.draft, saved: record.saved, words: undefined, opens: true }], at: 0 };
}

const object = (value: unknown): value is Record<string, unknown> => typeof value === "object" && value !== null && !Array.isArray(value);
const job = (value: unknown): value is Json => "job" in asJob(value);
const jobOrNone = (value: unknown): value is Json | undefined => value === undefined || job(value);

/** Whether a record was written by a version of the page that is newer than this one: it is left as it is. */
export function isNewer(value: unknown): boolean {
  const version = object(value) && typeof value["format"] === "string" ? /^neckwright-\w+\/(\d+)$/.exec(value["format"])?.[1] : undefined;
  return version !== undefined && Number(version) > 1;
}

/** The record, or undefined where it is none that can be gone on with. */
export function readRecord(value: unknown): BenchRecord | undefined {
  if (!object(value) || value["format"] !== FORMAT) return undefined;
  const { id, owner, changed, left, draft, good, saved, aside, steps, at, unit, card } = value;
  const sound =
    typeof id === "string" && typeof owner === "string" && typeof changed === "number" && typeof left === "boolean" && typeof at === "number" && (unit === "mm" || unit === "in") && typeof card === "string";
  if (!sound || !job(draft) || !jobOrNone(good) || !jobOrNone(saved) || !Array.isArray(steps) || steps[at] === undefined) return undefined;
  if (aside !== undefined && !(object(aside) && job(aside["draft"]) && jobOrNone(aside["saved"]))) return undefined;
  if (!steps.every(isStep)) return undefined;
  return { format: FORMAT, id, owner, changed, left, draft, good, saved, aside: aside as Aside | undefined, steps, at, unit, card };
}

function isStep(value: unknown): value is Step {
  if (!object(value)) return false;
  const { job: after, saved, words, opens } = value;
  return job(after) && jobOrNone(saved) && (words === undefined || typeof words === "string") && typeof opens === "boolean";
}

/** What a record puts on the bench; the neck that was shown is built again before it. */
export function benchOf({ draft, saved, aside, steps, at, unit, card }: BenchRecord): Omit<Kept, "good"> & { steps: Steps } {
  return { draft, saved, aside, steps: { all: steps, at }, unit, card };
}
