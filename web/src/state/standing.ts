// The job that the rooms beside the bench work on: the one that counts on the bench.
import { type Bench, holdsRefused, isRefused, jobOf } from "./bench.ts";
import { jobName } from "./job-file.ts";
import type { Json } from "./json.ts";

export interface Standing {
  job: Json;
  /** What it is, and what of the bench is not in it. */
  says: string;
  /** Fields on the bench hold what is not in the job. */
  differs: boolean;
}

/** Undefined before there is a job at all. */
export function standing(state: Bench): Standing | undefined {
  const job = jobOf(state);
  if (job === undefined) return undefined;
  const differs = holdsRefused(state) || state.unread.size > 0;
  const name = jobName(job);
  const told = differs
    ? `${name} without what is wrong in its fields on the bench: what was refused is in nothing that is made here.`
    : isRefused(state)
      ? `${name} as it lies on the bench, with what is wrong in it.`
      : `${name} as it lies on the bench.`;
  return { job, says: told, differs };
}
