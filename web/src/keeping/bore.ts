// What was chosen in the room of the bores, for the next visit.
import { type BoreChoice, FIRST_CHOICE, type OpenedFile, readRows } from "../state/bore.ts";
import { isObject, type Json, valueAt } from "../state/json.ts";

const KEPT_AS = "neckwright-bore/1";

/** What was chosen on the last visit; the first choice where nothing can be read. */
export function keptBores(): BoreChoice {
  try {
    const kept = JSON.parse(localStorage.getItem(place()) ?? "null") as Json;
    const text = (key: string, otherwise: string) => {
      const value = valueAt(kept, [key]);
      return typeof value === "string" ? value : otherwise;
    };
    const files = (key: string) => {
      const value = valueAt(kept, [key]);
      return Array.isArray(value) ? value.filter((file) => isFile(file)).map((file) => file as unknown as OpenedFile) : [];
    };
    return {
      first: text("first", FIRST_CHOICE.first),
      second: text("second", FIRST_CHOICE.second),
      rows: readRows(valueAt(kept, ["rows"])),
      horn: text("horn", FIRST_CHOICE.horn),
      jobs: files("jobs"),
      horns: files("horns"),
    };
  } catch {
    return FIRST_CHOICE;
  }
}

/** Keeps a choice for the next visit; says whether the browser does. */
export function keepBores(choice: BoreChoice): boolean {
  try {
    localStorage.setItem(place(), JSON.stringify(choice));
    return true;
  } catch {
    return false;
  }
}

function isFile(value: Json): boolean {
  return isObject(value) && typeof value["id"] === "string" && typeof value["name"] === "string" && isObject(value["json"]);
}

function place(): string {
  return `${KEPT_AS} ${new URL(".", location.href).pathname}`;
}
