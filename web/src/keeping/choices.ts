// What was chosen in a room beside the bench, under a key for this page's own path: other pages of the host have theirs.
import { isObject, type Json, type JsonObject } from "../state/json.ts";

/** For good, or as long as the tab lives. Asked for when it is used: a browser may refuse even that. */
export type Store = () => Storage;
export const FOR_GOOD: Store = () => localStorage;
export const FOR_THE_TAB: Store = () => sessionStorage;

const keyOf = (what: string) => `${what} ${new URL(".", location.href).pathname}`;

/** What was kept as an object; an empty one where nothing can be read. */
export function readChoices(store: Store, what: string): JsonObject {
  try {
    const value = JSON.parse(store().getItem(keyOf(what)) ?? "null") as Json;
    return isObject(value) ? value : {};
  } catch {
    return {};
  }
}

/** Keeps it for the next visit; says whether the browser does. */
export function keepChoices(store: Store, what: string, choices: object): boolean {
  try {
    store().setItem(keyOf(what), JSON.stringify(choices));
    return true;
  } catch {
    return false;
  }
}
