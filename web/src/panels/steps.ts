// Taking changes back and doing them again, what the last one was, and whether the browser keeps it all.
import { type Bench, type BenchStore, goStep, holdsRefused } from "../state/bench.ts";
import { between, isSettled, type Step, type Steps } from "../state/steps.ts";
import { changeText } from "../state/words.ts";
import { el, setText } from "../dom.ts";

/** How the two keys are called on this machine. */
const isApple = /Mac|iPhone|iPad/.test(navigator.platform);
const KEYS = isApple ? { back: "⌘ Z", again: "⇧ ⌘ Z" } : { back: "Ctrl Z", again: "Ctrl Y" };

export class StepsPanel {
  readonly #back = el("button", { text: "Take back", attributes: { type: "button", "aria-describedby": "step-said", "aria-keyshortcuts": isApple ? "Meta+Z" : "Control+Z" } });
  readonly #again = el("button", { text: "Do again", attributes: { type: "button", "aria-keyshortcuts": isApple ? "Meta+Shift+Z" : "Control+Y Control+Shift+Z" } });
  readonly #said = el("span", { class: "step-said", attributes: { id: "step-said", role: "status" } });
  readonly #kept = el("span", { class: "step-kept" });
  readonly #offline = el("span", { class: "step-kept step-offline" });
  readonly #fault = el("span", { class: "step-fault", attributes: { role: "alert" } });
  /** What is told of the step that was just taken back or done again; otherwise the last change is. */
  #told: { steps: Steps; text: string } | undefined;

  constructor(
    private readonly bench: BenchStore,
    private readonly room: HTMLElement,
  ) {
    this.#back.addEventListener("click", () => this.#go("back"));
    this.#again.addEventListener("click", () => this.#go("again"));
    addEventListener("keydown", (event) => {
      const which = stepOf(event);
      // in a field the browser takes back what was typed, letter by letter
      if (which === undefined || isWritten(event.target)) return;
      event.preventDefault();
      this.#go(which);
    });
    room.replaceChildren(this.#back, this.#again, this.#said, this.#fault, this.#kept, this.#offline);
  }

  render(state: Bench): void {
    const { steps, draft, keeping } = state;
    // there is nothing to take back before anything was chosen
    this.room.hidden = state.start && keeping.state !== "refused";
    const unsettled = !isSettled(steps, draft);
    const back = between(steps, "back");
    const again = unsettled ? undefined : between(steps, "again");
    // kept in reach of the focus while there is nothing more to take back: a disabled button would lose it
    this.#back.setAttribute("aria-disabled", String(!unsettled && back === undefined));
    this.#again.setAttribute("aria-disabled", String(again === undefined));
    this.#back.title = unsettled ? `Take back what ${holdsRefused(state) ? "was refused" : "is being typed"} (${KEYS.back})` : back === undefined ? "Nothing to take back" : `Take back: ${this.#words(back, state)} (${KEYS.back})`;
    this.#again.title = again === undefined ? "Nothing to do again" : `Do again: ${this.#words(again, state)} (${KEYS.again})`;
    if (this.#told !== undefined && (this.#told.steps !== steps || (unsettled && !holdsRefused(state)))) this.#told = undefined;
    setText(this.#said, this.#told?.text ?? ((unsettled && !holdsRefused(state)) || back === undefined ? "" : this.#words(back, state)));
    setText(this.#kept, keptText(state));
    setText(this.#offline, state.offline ? "works without a network" : "");
    setText(this.#fault, keeping.state === "refused" ? `Not kept since ${timeText(keeping.since)}: ${keeping.why}. The page works on; save the job as a file.` : "");
  }

  #go(which: "back" | "again"): void {
    const before = this.bench.get();
    goStep(this.bench, which);
    const { steps } = this.bench.get();
    if (steps.at === before.steps.at && steps.all === before.steps.all) return;
    const done = between(steps, which === "back" ? "again" : "back");
    if (done === undefined) return;
    const words = this.#words(done, this.bench.get());
    this.#told = { steps, text: which === "back" ? `Taken back: ${words}` : `Done again: ${words}` };
    this.render(this.bench.get());
  }

  #words({ from, to }: { from: Step; to: Step }, { schema, unit }: Bench): string {
    return to.words ?? changeText(from.job, to.job, schema, unit);
  }
}

function keptText({ keeping }: Bench): string {
  if (keeping.state !== "kept") return "";
  return keeping.whole ? `Kept in this browser, ${timeText(keeping.at)}` : "Kept in this browser, but not the way back: its storage is nearly full";
}

/** Which way a key goes: the platform's usual ones. */
function stepOf({ key, ctrlKey, metaKey, altKey, shiftKey }: KeyboardEvent): "back" | "again" | undefined {
  if (altKey || !(isApple ? metaKey && !ctrlKey : ctrlKey && !metaKey)) return undefined;
  switch (key.toLowerCase()) {
    case "z":
      return shiftKey ? "again" : "back";
    case "y":
      return isApple || shiftKey ? undefined : "again";
    default:
      return undefined;
  }
}

function isWritten(target: EventTarget | null): boolean {
  return target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && target.type === "text") || (target instanceof HTMLElement && target.isContentEditable);
}

/** `23:56`, or with the day when it was another one. */
function timeText(at: number): string {
  const when = new Date(at);
  const time = when.toLocaleTimeString(undefined, { hour: "2-digit", minute: "2-digit" });
  return when.toDateString() === new Date().toDateString() ? time : `${when.toLocaleDateString(undefined, { day: "numeric", month: "short" })}, ${time}`;
}
