// What is asked of the core about blanks, and what it answers.
import type { BlankFile, BlankView, LayProgress, LayReport, Violation } from "../../pkg/neckwright_shop.js";
import type { Json } from "../state/json.ts";

export type { BlankFile, BlankView, LayProgress, LayReport, Violation };

/** Jobs with how many half shells of each, and the sheet they come from. */
export interface OnSheet {
  orders: readonly { job: Json; halves: number }[];
  sheet: Json;
}

export type BlanksTalk = {
  /** The JSON Schema of a sheet file. */
  "sheet-schema": { ask: object; answer: { schema: Json } };
  /** The half shells laid flat, or everything that is wrong with jobs and sheet. */
  blanks: { ask: OnSheet; answer: { ok: true; blanks: BlankView[]; notes: string[]; milliseconds: number } | { ok: false; violations: Violation[] } };
  /**
   * Goes on with a lay that is `rounds` old for some milliseconds. Where this core does not have it, it takes it up again: as long as
   * the answer tells fewer rounds than were asked for, it is still on its way there, and the same is asked again.
   */
  lay: { ask: OnSheet & { seed: number; rounds: number; milliseconds: number }; answer: { progress: LayProgress; report: LayReport } };
  /** All files: of a lay only where it is some rounds old. None yet, but how many rounds, where it is still being taken up again. */
  files: { ask: OnSheet & { seed: number; rounds: number; paper: "a4" | "letter" }; answer: { files: BlankFile[] } | { rounds: number } };
};
