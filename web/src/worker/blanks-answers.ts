// How what is asked about blanks is answered by the core.
import { Blanks, sheetSchema } from "../../pkg/neckwright_shop.js";
import { type Json, sameJson } from "../state/json.ts";
import type { Answers } from "./answering.ts";
import type { BlanksTalk, OnSheet } from "./blanks-talk.ts";

export function blanksAnswers(): Answers<BlanksTalk> {
  const blanks = new Blanks();
  /** What stands, or was refused last. */
  let last: { on: Json; result: ReturnType<Blanks["setOrders"]> } | undefined;
  /** The lay that was started of it. */
  let lay: { seed: number; rounds: number; finished: boolean } | undefined;
  const setIn = (into: Blanks, { orders, sheet }: OnSheet) => into.setOrders(orders as Parameters<Blanks["setOrders"]>[0], sheet as unknown as Parameters<Blanks["setOrders"]>[1]);
  const set = ({ orders, sheet }: OnSheet) => {
    const on = { orders, sheet } as unknown as Json;
    if (last === undefined || !sameJson(last.on, on)) {
      // what is refused leaves the orders before, and their lay, as they were; they are laid flat anew all the same
      last = { on, result: setIn(blanks, { orders, sheet }) };
      lay = undefined;
    }
    return last.result;
  };
  const step = (rounds: number) => {
    const progress = blanks.step(rounds);
    lay = { seed: lay?.seed ?? 0, rounds: progress.rounds, finished: progress.finished };
    return progress;
  };
  /** The lay at a number of rounds: the same seed and as many rounds give the same again. */
  const takeUp = (on: OnSheet, seed: number, rounds: number) => {
    if (!set(on).ok) throw new Error("blanks and sheet do not go together");
    if (lay?.seed !== seed || (lay.rounds !== rounds && !lay.finished)) {
      blanks.start(seed);
      lay = { seed, rounds: 0, finished: false };
      if (rounds > 0) step(rounds);
    }
  };
  return {
    "sheet-schema": () => ({ schema: sheetSchema() as Json }),
    blanks: (on) => {
      const start = performance.now();
      const result = set(on);
      return result.ok ? { ...result, milliseconds: performance.now() - start } : result;
    },
    lay: ({ seed, rounds, milliseconds, ...on }) => {
      takeUp(on, seed, rounds);
      const end = performance.now() + milliseconds;
      let progress = step(1);
      let better = progress.better;
      while (!progress.finished && performance.now() < end) {
        progress = step(1);
        better ||= progress.better;
      }
      return { progress: { ...progress, better }, report: blanks.best() };
    },
    files: ({ seed, rounds, paper, ...on }) => {
      if (rounds > 0) {
        takeUp(on, seed, rounds);
        return { files: blanks.files(paper) };
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
