// The core of the job card, in a thread of its own. The only file of the page that loads its wasm.
import init, { Cards, cardSchema, keptRecord, madeSchema, usualCard, type Violation } from "../../pkg/neckwright_card.js";
import { type Json, sameJson } from "../state/json.ts";
import { answerWith } from "./answering.ts";
import type { CardTalk, Refused } from "./card-talk.ts";

/** Name of the wasm beside this script, put in by the build. */
declare const WASM_NAME: string;

await answerWith<CardTalk>(async () => {
  await init({ module_or_path: new URL(WASM_NAME, import.meta.url) });
  const cards = new Cards();
  /** Job of the neck that stands, or that was refused last. */
  let last: { job: Json; refused: Violation[] | undefined } | undefined;
  const lay = (job: Json) => {
    if (last === undefined || !sameJson(last.job, job)) {
      const result = cards.setJob(job as object);
      last = { job, refused: result.ok ? undefined : result.violations };
    }
    return last.refused;
  };
  const ofJob = (violations: Violation[]): Refused => ({ ok: false, of: "job", violations });
  return {
    schemas: () => ({ card: cardSchema() as Json, made: madeSchema() as Json, usual: usualCard() as Json }),
    card: ({ job, card }) => {
      const refused = lay(job);
      if (refused !== undefined) return ofJob(refused);
      const result = cards.card(card as object);
      return result.ok ? result : { ...result, of: "card" };
    },
    file: ({ job, card, name }) => {
      if (lay(job) !== undefined) throw new Error("the job cannot be built");
      return { bytes: cards.file(name, card as object) };
    },
    sheets: ({ job, card }) => {
      if (lay(job) !== undefined) throw new Error("the job cannot be built");
      return { svgs: cards.sheets(card as object) };
    },
    record: ({ job, card, made }) => {
      const refused = lay(job);
      if (refused !== undefined) return ofJob(refused);
      const result = cards.record(card as object, made as object);
      return result.ok ? { ok: true, record: result.record, text: result.text } : { ...result, of: "card" };
    },
    kept: ({ text }) => ({ kept: keptRecord(text) }),
  };
});
