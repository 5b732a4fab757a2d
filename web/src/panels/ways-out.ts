// Under a chosen pair that fails: the search for a way out, how far it is, and what it has found, each to be taken.
import type { Bench, BenchStore } from "../state/bench.ts";
import { type LengthUnit, lengthText } from "../state/lengths.ts";
import { entriesOf, pairKey } from "../state/pairs.ts";
import { mayLook, type Search, takeWay, type WaysOut } from "../state/ways-out.ts";
import type { Clearance, PartInfo, WayOut } from "../worker/protocol.ts";
import { el, setText } from "../dom.ts";
import { angleText, gapText, mark, namer, pairText } from "./clearances.ts";

/** How far a search is. */
export function progressText({ tried, of, found, work }: Search): string {
  const soFar = of === undefined ? "Looking …" : `${tried} of ${of} tried`;
  switch (work) {
    case "looking":
      return soFar;
    case "stopped":
      return of === undefined ? "Stopped." : `Stopped: ${soFar}.`;
    case "failed":
      return "The search broke off.";
    case "done":
      return found.length === 0 ? `None of the ${tried} changes tried clears this.` : `${found.length} of ${tried} changes ${found.length === 1 ? "clears" : "clear"} this.`;
  }
}

/** `Move the badge towards the tenon by 9.28 mm`. */
function wayText({ words, by, unit: of }: WayOut, unit: LengthUnit): string {
  const amount = of === "deg" ? angleText(by) : `${lengthText(by, unit)} ${unit}`;
  return `${words.charAt(0).toUpperCase()}${words.slice(1)} by ${amount}`;
}

/** What the list would say of it. */
function outcomeText({ clears_all, tightest, caution }: WayOut, unit: LengthUnit, parts: readonly PartInfo[]): string {
  const then = tightest === null ? "" : `tightest then ${gapText(tightest, unit)}, ${pairText(tightest, namer(parts))}`;
  return [clears_all ? "" : "clears this pair, not the others", then, caution ?? ""].filter((words) => words !== "").join("; ");
}

/** Once the neck with a way out stands: whether the pair it was taken for is still one that hands may spoil. */
export function tellTaken(bench: BenchStore): void {
  const { taken, draft, clearances, notice, unit, parts } = bench.get();
  if (taken === undefined) return;
  const lead = clearances === undefined ? undefined : entriesOf(clearances).find(({ key }) => key === pairKey(taken))?.lead;
  const isTight = taken.job === draft && lead?.ok === true && lead.by_hand_ok === false;
  if (!isTight || notice?.tone !== "plain") return bench.set({ taken: undefined });
  const left = lead.by_hand_mm ?? 0;
  const hands = left < 0 ? `they may overlap by ${lengthText(-left, unit)} ${unit}` : `only ${lengthText(left, unit)} ${unit} of it may be left`;
  bench.set({ taken: undefined, notice: { tone: "plain", text: `${notice.text} ${sentence(pairText(taken, namer(parts)))} then has ${gapText(lead, unit)}, which is tight by hand: where both are soldered as far off as hands are, ${hands}. A jig is worth making.` } });
}

const sentence = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

export class WaysOutRoom {
  readonly #button = el("button", { text: "Look for a way out", attributes: { type: "button" }, on: { click: () => this.#press() } });
  readonly #progress = el("span", { class: "progress" });
  readonly #ways = el("ul", { class: "ways-found" });
  readonly element = el("div", { class: "way-out" }, el("p", { class: "way-out-head" }, this.#button, this.#progress), this.#ways);

  constructor(
    private readonly bench: BenchStore,
    private readonly ways: WaysOut,
    private readonly pair: Pick<Clearance, "a" | "b">,
    /** Where the focus goes when what it was on has gone. */
    private readonly onTaken: () => void,
  ) {}

  render(state: Bench): void {
    const search = this.#searchOf(state);
    setText(this.#button, search === undefined ? "Look for a way out" : search.work === "looking" ? "Stop" : "Look again");
    this.#button.disabled = search?.work !== "looking" && !mayLook(state);
    setText(this.#progress, search === undefined ? "" : progressText(search));
    const focused = document.activeElement instanceof HTMLElement && this.#ways.contains(document.activeElement) ? document.activeElement.dataset["way"] : undefined;
    this.#ways.hidden = search === undefined || search.found.length === 0;
    this.#ways.replaceChildren(...(search?.found ?? []).map((way) => this.#line(way, state)));
    if (focused !== undefined) this.#ways.querySelector<HTMLElement>(`[data-way="${CSS.escape(focused)}"]`)?.focus();
  }

  #line(way: WayOut, { unit, parts }: Bench): HTMLElement {
    const text = wayText(way, unit);
    const take = () => {
      takeWay(this.bench, this.pair, way, text);
      this.onTaken();
    };
    return el(
      "li",
      { class: "way" },
      mark(way.clears_all, !way.clears_all),
      el("span", { class: "what" }, el("span", { class: "names", text }), el("span", { class: "need", text: `; ${outcomeText(way, unit, parts)}` })),
      el("button", { text: "Take it", attributes: { type: "button", "data-way": way.words, "aria-label": `Take it: ${text}` }, on: { click: take } }),
    );
  }

  #searchOf({ search }: Bench): Search | undefined {
    return search !== undefined && pairKey(search) === pairKey(this.pair) ? search : undefined;
  }

  #press(): void {
    if (this.#searchOf(this.bench.get())?.work === "looking") this.ways.stop();
    else void this.ways.look(this.pair);
  }
}
