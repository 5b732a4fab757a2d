// Two jobs measured by a core of their own, so that the neck on the bench goes on meanwhile and stopping loses nothing.
import type { Reply, Request, Weighed } from "../worker/protocol.ts";
import type { BenchStore } from "./bench.ts";
import type { Json } from "./json.ts";
import type { Comparison, Side } from "./variants.ts";

interface Core {
  ask(request: Extract<Request, { kind: "weigh" }>): Promise<Pick<Reply, "kind">>;
  end(): void;
}

export class Comparer {
  #core: Core | undefined;
  /** What was measured before, for as long as its job is in use. */
  #known = new WeakMap<object, Weighed>();

  constructor(
    private readonly bench: BenchStore,
    private readonly start: () => Core,
  ) {}

  async compare(one: { name: string; job: Json }, other: { name: string; job: Json }): Promise<void> {
    this.#end();
    const side = ({ name, job }: { name: string; job: Json }): Side => ({ name, job, weighed: this.#knownOf(job) });
    let now: Comparison = { one: side(one), other: side(other), work: "measuring" };
    /** Goes on unless it was stopped or another one has begun. */
    const tell = (change: Partial<Comparison>): boolean => {
      if (this.bench.get().comparison !== now) return false;
      now = { ...now, ...change };
      this.bench.set({ comparison: now });
      return true;
    };
    this.bench.set({ comparison: now });
    try {
      for (const which of ["one", "other"] as const) {
        const { [which]: here } = now;
        const weighed = here.weighed ?? (await this.#weigh(here.job));
        if (!tell({ [which]: { ...here, weighed } })) return;
      }
      tell({ work: "done" });
    } catch {
      tell({ work: "failed" });
    }
    this.#end();
  }

  /** Stops the measuring; what differs between the parameters stays to be read. */
  stop(): void {
    const { comparison } = this.bench.get();
    if (comparison?.work === "measuring") this.bench.set({ comparison: { ...comparison, work: "stopped" } });
    this.#end();
  }

  async #weigh(job: Json): Promise<Weighed> {
    this.#core ??= this.start();
    const reply = await this.#core.ask({ kind: "weigh", job });
    if (!("weighed" in reply)) throw new Error("the core answered something else");
    const weighed = reply.weighed as Weighed;
    if (typeof job === "object" && job !== null) this.#known.set(job, weighed);
    return weighed;
  }

  #knownOf(job: Json): Weighed | undefined {
    return typeof job === "object" && job !== null ? this.#known.get(job) : undefined;
  }

  #end(): void {
    this.#core?.end();
    this.#core = undefined;
  }
}
