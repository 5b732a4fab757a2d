// The worker's side of a core beside the bench's own: loads it, then answers question by question.
import { isTrap } from "./trap.ts";
import type { FromSide, Talk, ToSide } from "./side-core.ts";

/** The little of a worker's own scope that is used here; the page's other files are typed for a window. */
declare const self: {
  postMessage(message: FromSide, transfer: Transferable[]): void;
  addEventListener(kind: "message", listener: (event: MessageEvent) => void): void;
};

/** How each kind of question is answered. */
export type Answers<T extends Talk> = { [K in keyof T]: (ask: T[K]["ask"]) => T[K]["answer"] };

function say(message: FromSide, transfer: Transferable[] = []): void {
  self.postMessage(message, transfer);
}

/** Bytes are handed over and not copied. */
function buffersOf(answer: object): Transferable[] {
  return Object.values(answer).flatMap((value) => (value instanceof Uint8Array ? [value.buffer] : []));
}

/** Loads a core and answers all that is asked of it, what was asked meanwhile first. */
export async function answerWith<T extends Talk>(load: () => Promise<Answers<T>>): Promise<void> {
  /** None before the core is loaded, and none any more after a trap. */
  let answers: Answers<T> | undefined;
  let early: ToSide<T>[] | undefined = [];
  const take = ({ id, kind, ask }: ToSide<T>) => {
    if (answers === undefined) return;
    try {
      const answer = answers[kind](ask);
      say({ kind: "answer", id, answer }, buffersOf(answer));
    } catch (error) {
      const message = error instanceof Error ? error.message : String(error);
      // a trap leaves the module's memory in an unknown state: nothing may be asked of it again
      if (isTrap(error)) {
        answers = undefined;
        say({ kind: "trap", message });
      } else say({ kind: "failed", id, message });
    }
  };
  self.addEventListener("message", ({ data }: MessageEvent<ToSide<T>>) => {
    if (early === undefined) take(data);
    else early.push(data);
  });
  try {
    answers = await load();
  } catch (error) {
    say({ kind: "trap", message: error instanceof Error ? error.message : String(error) });
    return;
  }
  say({ kind: "ready" });
  const waiting = early;
  early = undefined;
  for (const question of waiting) take(question);
}
