// The neck that a core holds: built anew only where another job is asked about.
import { type Json, sameJson } from "../state/json.ts";

type Set<Wrong> = { ok: true } | { ok: false; violations: Wrong[] };

export class LastJob<Wrong> {
  /** Job of the neck that stands, or that was refused last. */
  #last: { job: Json; refused: Wrong[] | undefined } | undefined;

  constructor(private readonly setJob: (job: object) => Set<Wrong>) {}

  /** Sees to it that the neck of a job stands; what is wrong with the job where it cannot be built. */
  refusal(job: Json): Wrong[] | undefined {
    if (this.#last === undefined || !sameJson(this.#last.job, job)) {
      const result = this.setJob(job as object);
      this.#last = { job, refused: result.ok ? undefined : result.violations };
    }
    return this.#last.refused;
  }

  /** The same of a job that was built before. */
  stand(job: Json): void {
    if (this.refusal(job) !== undefined) throw new Error("the job cannot be built");
  }
}
