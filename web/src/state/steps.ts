// The changes of this sitting one by one, so that each can be taken back and done again, to the very start.
import type { Json } from "./json.ts";
import { sameJson } from "./json.ts";

/** The job as it stood after one change. */
export interface Step {
  job: Json;
  /** What of the job was in a file, or was shipped, when it was laid on the bench. */
  saved: Json | undefined;
  /** What the change was, where the two jobs do not say it themselves. */
  words: string | undefined;
  /** With it another job was laid on the bench. */
  opens: boolean;
}

export interface Steps {
  all: readonly Step[];
  /** Where the maker stands: the last change that is not taken back. -1 before the first job. */
  at: number;
}

export const NO_STEPS: Steps = { all: [], at: -1 };

/** One step more. What was taken back and not done again is given up with it. */
export function withStep({ all, at }: Steps, step: Step): Steps {
  return { all: [...all.slice(0, at + 1), step], at: at + 1 };
}

export function stepAt({ all, at }: Steps): Step | undefined {
  return all[at];
}

/** Whether the job as it stands is the one after the last change. */
export function isSettled(steps: Steps, draft: Json | undefined): boolean {
  const here = stepAt(steps);
  return here === undefined || here.job === draft || sameJson(here.job, draft);
}

/** The two jobs that the change to be taken back, or to be done again, lies between. */
export function between({ all, at }: Steps, which: "back" | "again"): { from: Step; to: Step } | undefined {
  const [from, to] = which === "back" ? [all[at - 1], all[at]] : [all[at], all[at + 1]];
  return from === undefined || to === undefined ? undefined : { from, to };
}
