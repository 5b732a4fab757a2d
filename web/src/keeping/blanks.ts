// What was chosen in the room of the blanks, for the next visit.
import { isObject, type Json } from "../state/json.ts";
import { type Choice, FIRST_CHOICE, FIRST_SHEET, type OtherOrder } from "../state/sheet.ts";
import { FOR_GOOD, keepChoices, readChoices } from "./choices.ts";

const KEPT_AS = "neckwright-blanks/1";

/** What was chosen on the last visit; the first choice where nothing can be read. */
export function keptChoice(): Choice {
  const { sheet, others, seed, seconds, paper } = readChoices(FOR_GOOD, KEPT_AS);
  return {
    sheet: isObject(sheet) ? sheet : FIRST_SHEET,
    others: Array.isArray(others) ? (others as unknown[]).filter(isOrder) : [],
    seed: typeof seed === "number" ? seed : FIRST_CHOICE.seed,
    seconds: typeof seconds === "number" ? seconds : FIRST_CHOICE.seconds,
    paper: paper === "letter" ? "letter" : "a4",
  };
}

/** Keeps a choice for the next visit; says whether the browser does. */
export function keepChoice(choice: Choice): boolean {
  return keepChoices(FOR_GOOD, KEPT_AS, choice);
}

function isOrder(value: unknown): value is OtherOrder {
  const { name, job, halves } = isObject(value as Json) ? (value as Partial<OtherOrder>) : {};
  return typeof name === "string" && typeof halves === "number" && isObject(job);
}
