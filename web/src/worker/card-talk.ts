// What is asked of the core of the job card, and what it answers.
import type { BentPart, CardFileName, Flag, GaugedTenon, Hammered, HeatOrder, HoleRow, Holes, JobCard, KeptRecord, Masses, MetalSheet, NeckRecord, Number as CardNumber, PullDown, Step, TightRow, VentArea, Violation, Wall } from "../../pkg/neckwright_card.js";
import type { Json } from "../state/json.ts";

export type { BentPart, CardFileName, CardNumber, Flag, GaugedTenon, Hammered, HeatOrder, HoleRow, Holes, JobCard, KeptRecord, Masses, MetalSheet, NeckRecord, PullDown, Step, TightRow, VentArea, Violation, Wall };

/** Why there is no answer: what is wrong with the job, or with what is asked of its card. */
export interface Refused {
  ok: false;
  of: "job" | "card";
  violations: Violation[];
}

export type CardTalk = {
  /** The JSON Schemas of card file and neck as made, and a card file of starting values. */
  schemas: { ask: object; answer: { card: Json; made: Json; usual: Json } };
  /** Every number of the card. */
  card: { ask: { job: Json; card: Json }; answer: { ok: true; card: JobCard; warnings: Violation[] } | Refused };
  /** One of its files. */
  file: { ask: { job: Json; card: Json; name: CardFileName }; answer: { bytes: Uint8Array } };
  /** The sheets of the card as SVG, to be printed. */
  sheets: { ask: { job: Json; card: Json }; answer: { svgs: string[] } };
  /** What was measured put beside the job, and the text of its file. */
  record: { ask: { job: Json; card: Json; made: Json }; answer: { ok: true; record: NeckRecord; text: string } | Refused };
  /** What a record keeps; nothing of a text that is none. */
  kept: { ask: { text: string }; answer: { kept: KeptRecord | undefined } };
};
