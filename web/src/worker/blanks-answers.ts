// How what is asked about blanks is answered by the core.
import { Blanks, sheetSchema } from "../../pkg/neckwright_shop.js";
import { type Json, sameJson } from "../state/json.ts";
import type { Answers } from "./answering.ts";
import type { BlanksTalk, OnSheet } from "./blanks-talk.ts";

/** How long a lay is taken up again for its files before other questions have their turn. */
const SLICE_MS = 150;

const setIn = (into: Blanks, { orders, sheet }: OnSheet) => into.setOrders(orders as Parameters<Blanks["setOrders"]>[0], sheet as unknown as Parameters<Blanks["setOrders"]>[1]);

/** Orders and sheet that stand, and the lay that was started of them. */
class Table {
  readonly blanks = new Blanks();
  /** What stands, or was refused last. */
  #last: { on: Json; result: ReturnType<Blanks["setOrders"]> } | undefined;
  #lay: { seed: number; rounds: number; finished: boolean } | undefined;

  set({ orders, sheet }: OnSheet): ReturnType<Blanks["setOrders"]> {
    const on = { orders, sheet } as unknown as Json;
    if (this.#last === undefined || !sameJson(this.#last.on, on)) {
      // what is refused leaves the orders before, and their lay, as they were; they are laid flat anew all the same
      this.#last = { on, result: setIn(this.blanks, { orders, sheet }) };
      this.#lay = undefined;
    }
    return this.#last.result;
  }

  step(): ReturnType<Blanks["step"]> {
    const progress = this.blanks.step(1);
    this.#lay = { seed: this.#lay?.seed ?? 0, rounds: progress.rounds, finished: progress.finished };
    return progress;
  }

  get rounds(): number {
    return this.#lay?.rounds ?? 0;
  }

  /** Whether the lay that was started is this one, so many rounds old. */
  isAt({ orders, sheet }: OnSheet, seed: number, rounds: number): boolean {
    const same = this.#last !== undefined && sameJson(this.#last.on, { orders, sheet } as unknown as Json);
    return same && this.#lay?.seed === seed && this.#lay.rounds === rounds;
  }

  /**
   * The lay at a number of rounds: the same seed and as many rounds give the same again. It goes towards that until a point in
   * time, and says whether it is there.
   */
  takeUp(on: OnSheet, seed: number, rounds: number, end: number): boolean {
    if (!this.set(on).ok) throw new Error("blanks and sheet do not go together");
    if (this.#lay?.seed !== seed || this.#lay.rounds > rounds) {
      this.blanks.start(seed);
      this.#lay = { seed, rounds: 0, finished: false };
    }
    while (this.rounds < rounds && !this.#lay.finished && performance.now() < end) this.step();
    return this.rounds >= rounds || this.#lay.finished;
  }
}

export function blanksAnswers(): Answers<BlanksTalk> {
  const table = new Table();
  /** For the files of a lay that is older than the one that is being searched. */
  let aside: Table | undefined;
  return {
    "sheet-schema": () => ({ schema: sheetSchema() as Json }),
    blanks: (on) => {
      const start = performance.now();
      const result = table.set(on);
      return result.ok ? { ...result, milliseconds: performance.now() - start } : result;
    },
    lay: ({ seed, rounds, milliseconds, ...on }) => {
      const end = performance.now() + milliseconds;
      if (!table.takeUp(on, seed, rounds, end)) return { progress: { rounds: table.rounds, finished: false, better: false }, report: table.blanks.best() };
      let progress = table.step();
      let better = progress.better;
      while (!progress.finished && performance.now() < end) {
        progress = table.step();
        better ||= progress.better;
      }
      return { progress: { ...progress, better }, report: table.blanks.best() };
    },
    files: ({ seed, rounds, paper, ...on }) => {
      if (rounds > 0) {
        const at = table.isAt(on, seed, rounds) ? table : (aside ??= new Table());
        const there = at.takeUp(on, seed, rounds, performance.now() + SLICE_MS);
        return there ? { files: at.blanks.files(paper) } : { rounds: at.rounds };
      }
      // apart from a lay that is being searched, which has no files yet
      const apart = new Blanks();
      try {
        if (!setIn(apart, on).ok) throw new Error("blanks and sheet do not go together");
        return { files: apart.files(paper) };
      } finally {
        apart.free();
      }
    },
  };
}
