// Under the view, in a line: what the core is doing, or whether the neck is clear; and the worst clash, one press away.
import { type Bench, type BenchStore, holdsRefused, isRefused, shownList } from "../state/bench.ts";
import { entriesOf, isFailing, rowKey } from "../state/pairs.ts";
import type { ClearanceList } from "../worker/protocol.ts";
import { el, setHidden, setText } from "../dom.ts";
import { gapText, mark, namer, pairText } from "./clearances.ts";
import { progressText } from "./ways-out.ts";

export class VerdictPanel {
  readonly #worst = el("span", { text: "No clash" });

  constructor(
    private readonly bench: BenchStore,
    private readonly status: HTMLElement,
    private readonly clash: HTMLElement,
    /** The view goes to a row of the list. */
    private readonly goTo: (row: string) => void,
  ) {
    clash.append(mark(false), this.#worst);
    clash.addEventListener("click", () => {
      const list = shownList(this.bench.get());
      const worst = list === undefined ? undefined : entriesOf(list)[0];
      if (worst !== undefined) this.goTo(rowKey(worst.lead));
    });
  }

  render(state: Bench): void {
    setText(this.status, statusText(state));
    const list = shownList(state);
    const worst = list === undefined ? undefined : entriesOf(list)[0]?.lead;
    setHidden(this.clash, worst === undefined || worst.ok);
    if (list === undefined || worst === undefined || worst.ok) return;
    const failed = failedOf(list);
    setText(this.#worst, `${failed} ${failed === 1 ? "pair" : "pairs"} not within limits: ${gapText(worst, state.unit)}, ${pairText(worst, namer(state.parts))}`);
  }
}

function failedOf(list: ClearanceList): number {
  return entriesOf(list).filter(isFailing).length;
}

function statusText(state: Bench): string {
  switch (state.work) {
    case "loading":
      return "Loading …";
    case "building":
      return "Building and measuring …";
    case "stopped":
      return "The calculation has stopped. The job is kept; start it again above.";
    case "idle": {
      if (state.search !== undefined) return `Way out, ${pairText(state.search, namer(state.parts))}: ${progressText(state.search)}`;
      if (holdsRefused(state)) return "A value was not taken: the neck is as it was.";
      if (isRefused(state)) return "The neck shown is the last good one.";
      const list = shownList(state);
      const entries = list === undefined ? [] : entriesOf(list);
      if (list === undefined || entries.length === 0) return "";
      const failed = failedOf(list);
      return failed === 0 ? `All ${entries.length} pairs are within their limits.` : `${failed} of ${entries.length} pairs ${failed === 1 ? "is" : "are"} not within ${failed === 1 ? "its" : "their"} limits.`;
    }
  }
}
