// The draft as it stood when the page went away. The browser's store is given it too, but answers later, and a page that is
// loaded again in the middle of a word is gone by then; this is written while the page waits.
import { readJobText } from "../state/job-file.ts";
import type { Json } from "../state/json.ts";

const keyOf = (bench: string) => `neckwright-last-word ${new URL(".", location.href).pathname} ${bench}`;

export function leaveWord(bench: string, draft: Json, changed: number): void {
  try {
    localStorage.setItem(keyOf(bench), `${changed} ${JSON.stringify(draft)}`);
  } catch {
    // full or refused: then the store has it, or has said that it has not
  }
}

/** What was left for a bench; read once. */
export function takeWord(bench: string): { draft: Json; changed: number } | undefined {
  try {
    const text = localStorage.getItem(keyOf(bench));
    localStorage.removeItem(keyOf(bench));
    const [, changed, json] = /^(\d+) (.*)$/s.exec(text ?? "") ?? [];
    const read = json === undefined ? undefined : readJobText(json);
    return read !== undefined && "job" in read ? { draft: read.job, changed: Number(changed) } : undefined;
  } catch {
    return undefined;
  }
}
