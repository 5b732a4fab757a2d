// How far the number in a field may go on this neck, all else as it is: the range of the field holds for every neck. Looked for
// by trying, for the field that has the focus, while the core has nothing better to do.
import type { Reply, Request } from "../worker/protocol.ts";
import type { BenchStore } from "./bench.ts";
import { type Json, type Path, pathText, valueAt, withValue } from "./json.ts";

export interface Reach {
  path: string;
  /** The job it was looked for in. */
  job: Json;
  /** Ends of what can be built; undefined where it is the range of the field itself. */
  min: number | undefined;
  max: number | undefined;
}

/** How long a field must have the focus, and the neck be at rest, before it is looked for. */
const REST_MS = 400;
/** Parts of the range to which the ends are found. */
const HALVINGS = 12;

export class ReachSearch {
  #wanted: { path: Path; min: number; max: number } | undefined;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly bench: BenchStore,
    private readonly ask: (request: Extract<Request, { kind: "try-job" }>) => Promise<Reply>,
  ) {}

  /** A field of numbers has the focus. */
  want(path: Path, min: number, max: number): void {
    this.#wanted = { path, min, max };
    this.again();
  }

  /** It has the focus no more. */
  drop(): void {
    this.#wanted = undefined;
    clearTimeout(this.#timer);
    if (this.bench.get().reach !== undefined) this.bench.set({ reach: undefined });
  }

  /** The neck is another one. */
  again(): void {
    clearTimeout(this.#timer);
    if (this.#wanted === undefined) return;
    this.#timer = setTimeout(() => void this.#look(), REST_MS);
  }

  async #look(): Promise<void> {
    const wanted = this.#wanted;
    const { good, work, placing } = this.bench.get();
    const here = wanted === undefined ? undefined : valueAt(good, wanted.path);
    if (wanted === undefined || good === undefined || typeof here !== "number") return;
    if (work !== "idle" || placing !== undefined) return this.again();
    const isGone = () => this.#wanted !== wanted || this.bench.get().good !== good || this.bench.get().placing !== undefined;
    /** Whether the neck can be built with another number there; undefined when it is wanted no more. */
    const canBe = async (value: number): Promise<boolean | undefined> => {
      if (isGone()) return undefined;
      const reply = await this.ask({ kind: "try-job", job: withValue(good, wanted.path, value) });
      return isGone() || reply.kind !== "tried" ? undefined : reply.violations.every(({ severity }) => severity !== "error");
    };
    try {
      const ends: (number | undefined)[] = [];
      for (const limit of [wanted.min, wanted.max]) {
        let [can, cannot] = [here, limit];
        const whole = limit === here ? true : await canBe(limit);
        for (let halving = 0; whole === false && halving < HALVINGS; halving += 1) {
          const middle = (can + cannot) / 2;
          const built = await canBe(middle);
          if (built === undefined) return;
          if (built) can = middle;
          else cannot = middle;
        }
        if (whole === undefined) return;
        ends.push(whole ? undefined : can);
      }
      const [min, max] = ends;
      this.bench.set({ reach: { path: pathText(wanted.path), job: good, min, max } });
    } catch {
      // the core has failed and is started again: nothing is told rather than half of it
    }
  }
}
