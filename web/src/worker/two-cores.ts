// One neck measured by two cores: both build its bodies, this one measures the rows of the list from the start, the helper from
// the end, until they meet. Without a helper, or with one that is late or fails, this core measures them all: the neck is the
// same.
import type { Neck, SetJobResult } from "../../pkg/neckwright.js";
import type { Json } from "../state/json.ts";
import type { FromHelper, ToHelper } from "./helper-talk.ts";
import type { SideThread } from "./side-core.ts";
import { isTrap } from "./trap.ts";
import { turn } from "./turns.ts";

/** How long this core measures before it looks what has come from the helper. */
const SLICE_MS = 1;
/** Fewer rows than this are measured as soon as they are shared: so many concern a part beside the tube, more than twice as many one that the key goes with. */
const WORTH_SHARING = 64;

export class TwoCores {
  #thread: SideThread | undefined;
  #up = false;
  #round = 0;
  /** Job of the last neck that one core built alone. */
  #alone: Json | undefined;
  /** The last neck was worth sharing, and the next is likely to be: the helper gets it at once and builds beside this core. */
  #shares = false;
  /** Takes rows of the round that is measured. */
  #hear: ((rows: Float64Array) => void) | undefined;

  /** Starts the helper, which takes a while; until then there is one core. */
  start(open: () => SideThread): void {
    let thread: SideThread;
    try {
      thread = open();
    } catch {
      return; // some browsers let no worker start another
    }
    this.#thread = thread;
    thread.onmessage = ({ data }: MessageEvent<FromHelper>) => {
      if (data.kind === "ready") this.#begin();
      else if (data.kind === "failed") this.#end();
      else if (data.round === this.#round) this.#hear?.(data.rows);
    };
    thread.onerror = (event) => {
      event.preventDefault();
      this.#end();
    };
  }

  /** The helper is there. It builds the neck that stands, which nobody waits for: of the first part that is moved it then has to build no more than this core. */
  #begin(): void {
    this.#up = true;
    if (this.#alone !== undefined) this.#post({ kind: "job", round: this.#round, job: this.#alone });
    this.#alone = undefined;
  }

  /** What `Neck.setJob` does. */
  async setJob(core: Neck, job: Json): Promise<SetJobResult> {
    const own = job as Parameters<Neck["setJob"]>[0];
    if (!this.#up) {
      const result = core.setJob(own);
      if (result.ok) this.#alone = job;
      return result;
    }
    const round = (this.#round += 1);
    const early = this.#shares;
    if (early) this.#post({ kind: "job", round, job });
    const begun = core.beginJob(own);
    this.#shares = begun.ok && begun.open.length >= WORTH_SHARING;
    if (begun.ok && this.#shares) {
      if (!early) this.#post({ kind: "job", round, job });
      await this.#measure(core, round, begun.open);
    }
    if (early || this.#shares) this.#post({ kind: "over", round });
    return begun.ok ? core.finishJob() : begun;
  }

  async #measure(core: Neck, round: number, rows: readonly number[]): Promise<void> {
    this.#post({ kind: "rows", round, rows });
    let trap: unknown;
    this.#hear = (measured) => {
      try {
        core.takeMeasured(measured);
      } catch (error) {
        if (isTrap(error)) trap = error;
        this.#end(); // what it tells is not to be trusted: all other rows are measured here
      }
    };
    try {
      for (;;) {
        const start = performance.now();
        while (performance.now() - start < SLICE_MS) if (core.measureNext() === 0) return;
        await turn();
        if (trap !== undefined) throw trap;
      }
    } finally {
      this.#hear = undefined;
    }
  }

  #post(message: ToHelper): void {
    this.#thread?.postMessage(message);
  }

  #end(): void {
    this.#thread?.terminate();
    this.#thread = undefined;
    this.#up = false;
  }
}
