// The search for a way out of a failing pair: the changes worth trying are tried one by one, so that a newer neck or a stop
// comes between any two of them.
import type { Clearance, Reply, Request, WayOut } from "../worker/protocol.ts";
import { type Bench, type BenchStore, commit, holdsRefused, isRefused, jobOf } from "./bench.ts";
import { withValue } from "./json.ts";

/** A search, under way or ended. */
export interface Search {
  a: string;
  b: string;
  tried: number;
  /** How many changes there are to try; not known before the core has said so. */
  of: number | undefined;
  /** What clears everything first, then the least change first. */
  found: readonly WayOut[];
  work: "looking" | "stopped" | "done" | "failed";
}

type Ask = (request: Extract<Request, { kind: "changes" | "way-out" }>) => Promise<Reply>;

export class WaysOut {
  constructor(
    private readonly bench: BenchStore,
    private readonly ask: Ask,
  ) {}

  /** Tries every change for a pair; a search that is under way gives way to it. */
  async look({ a, b }: Pick<Clearance, "a" | "b">): Promise<void> {
    let search: Search = { a, b, tried: 0, of: undefined, found: [], work: "looking" };
    /** Tells how far the search is, unless it was stopped or its job has changed: then it has ended. */
    const tell = (change: Partial<Search>): boolean => {
      if (this.bench.get().search !== search) return false;
      search = { ...search, ...change };
      this.bench.set({ search });
      return true;
    };
    this.bench.set({ search });
    try {
      const told = await this.ask({ kind: "changes", a, b });
      const of = told.kind === "changes" ? told.words.length : 0;
      if (!tell({ of })) return;
      for (let change = 0; change < of; change += 1) {
        const reply = await this.ask({ kind: "way-out", a, b, change });
        const found = reply.kind === "way-out" && reply.way !== undefined ? inOrder([...search.found, reply.way]) : search.found;
        if (!tell({ tried: change + 1, found })) return;
      }
      tell({ work: "done" });
    } catch {
      tell({ work: "failed" });
    }
  }

  /** Ends the search; what was found stays to be read. */
  stop(): void {
    const { search } = this.bench.get();
    if (search?.work === "looking") this.bench.set({ search: { ...search, work: "stopped" } });
  }
}

/** The way's fields in the job, all at once, as one change. */
export function takeWay(bench: BenchStore, pair: Pick<Clearance, "a" | "b">, way: WayOut, words: string): void {
  const job = jobOf(bench.get());
  if (job === undefined) return;
  const changed = way.fields.reduce((changed, { path, to }) => withValue(changed, path.split("."), to), job);
  commit(bench, changed, words);
  bench.set({ taken: { ...pair, job: changed }, notice: { tone: "plain", text: `The job was changed: ${words.charAt(0).toLowerCase()}${words.slice(1)}.` } });
}

/** Whether a way out can be looked for: only of the neck of the job that counts. */
export function mayLook(state: Pick<Bench, "work" | "draft" | "answered" | "steps">): boolean {
  return state.work === "idle" && (!isRefused(state) || holdsRefused(state));
}

function inOrder(ways: readonly WayOut[]): WayOut[] {
  return [...ways].sort((one, other) => Number(other.clears_all) - Number(one.clears_all) || one.by - other.by);
}
