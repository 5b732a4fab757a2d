// The core of the job card, in a thread of its own. The only file of the page that loads its wasm.
import init, { Cards, cardSchema, keptRecord, madeSchema, usualCard, type Violation } from "../../pkg/neckwright_card.js";
import type { Json } from "../state/json.ts";
import { answerWith } from "./answering.ts";
import type { CardTalk, Refused } from "./card-talk.ts";
import { LastJob } from "./last-job.ts";

/** Name of the wasm beside this script, put in by the build. */
declare const WASM_NAME: string;

await answerWith<CardTalk>(async () => {
  await init({ module_or_path: new URL(WASM_NAME, import.meta.url) });
  const cards = new Cards();
  const neck = new LastJob((job) => cards.setJob(job));
  const ofJob = (violations: Violation[]): Refused => ({ ok: false, of: "job", violations });
  return {
    schemas: () => ({ card: cardSchema() as Json, made: madeSchema() as Json, usual: usualCard() as Json }),
    card: ({ job, card }) => {
      const refused = neck.refusal(job);
      if (refused !== undefined) return ofJob(refused);
      const result = cards.card(card as object);
      return result.ok ? result : { ...result, of: "card" };
    },
    file: ({ job, card, name }) => {
      neck.stand(job);
      return { bytes: cards.file(name, card as object) };
    },
    sheets: ({ job, card }) => {
      neck.stand(job);
      return { svgs: cards.sheets(card as object) };
    },
    record: ({ job, card, made }) => {
      const refused = neck.refusal(job);
      if (refused !== undefined) return ofJob(refused);
      const result = cards.record(card as object, made as object);
      return result.ok ? { ok: true, record: result.record, text: result.text } : { ...result, of: "card" };
    },
    kept: ({ text }) => ({ kept: keptRecord(text) }),
  };
});
