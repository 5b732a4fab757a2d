// What was chosen in the room of the bores, for the next visit.
import { type BoreChoice, FIRST_CHOICE, type OpenedFile, readRows } from "../state/bore.ts";
import { isObject, type Json } from "../state/json.ts";
import { FOR_GOOD, keepChoices, readChoices } from "./choices.ts";

const KEPT_AS = "neckwright-bore/1";

/** What was chosen on the last visit; the first choice where nothing can be read. */
export function keptBores(): BoreChoice {
  const { first, second, rows, horn, set, limits, jobs, horns } = readChoices(FOR_GOOD, KEPT_AS);
  const text = (value: Json | undefined, otherwise: string) => (typeof value === "string" ? value : otherwise);
  const files = (value: Json | undefined) => (Array.isArray(value) ? value.filter((file) => isFile(file)).map((file) => file as unknown as OpenedFile) : []);
  return {
    first: text(first, FIRST_CHOICE.first),
    second: text(second, FIRST_CHOICE.second),
    rows: readRows(rows),
    horn: text(horn, FIRST_CHOICE.horn),
    set: typed(set),
    limits: typed(limits),
    jobs: files(jobs),
    horns: files(horns),
  };
}

/** Keeps a choice for the next visit; says whether the browser does. */
export function keepBores(choice: BoreChoice): boolean {
  return keepChoices(FOR_GOOD, KEPT_AS, choice);
}

/** Numbers, or what was typed for them. */
function typed(value: Json | undefined): BoreChoice["set"] {
  const kept = isObject(value) ? Object.entries(value) : [];
  return Object.fromEntries(kept.filter((one): one is [string, number | string | null] => one[1] === null || typeof one[1] === "number" || typeof one[1] === "string"));
}

function isFile(value: Json): boolean {
  return isObject(value) && typeof value["id"] === "string" && typeof value["name"] === "string" && isObject(value["json"]);
}
