// The card of what is chosen: what it is, its fields, its rows of the list, its files.
import { type Bench, type BenchStore, shownList } from "../state/bench.ts";
import { GENERAL_CARDS, partTitle } from "../state/cards.ts";
import { lengthText, measureText } from "../state/lengths.ts";
import { entriesOf } from "../state/pairs.ts";
import type { ReachSearch } from "../state/reach.ts";
import { heldJob } from "../state/placing.ts";
import { inWords, planOf } from "../state/schema.ts";
import type { PartInfo } from "../worker/protocol.ts";
import { isHolding, PairList } from "./clearances.ts";
import { el, setHidden } from "../dom.ts";
import type { Exports } from "./exports.ts";
import { ParameterForm } from "./parameters.ts";
import { metalSwatch } from "./tray.ts";

/** Pairs of a part on its card: the nearest ones; the list has them all. */
const ROWS = 5;

export class CardPanel {
  readonly form: ParameterForm;
  readonly #head = el("header", { class: "card-head" });
  readonly #pairs: PairList;
  readonly #rows: HTMLElement;
  readonly #files = el("div");
  readonly #body: HTMLElement;
  #filesOf: string | undefined;

  constructor(
    bench: BenchStore,
    room: HTMLElement,
    private readonly exports: Exports,
    reach: ReachSearch,
  ) {
    this.form = new ParameterForm(bench, reach);
    this.#pairs = new PairList(bench, "Nearest to its limits");
    this.#rows = el("div", { class: "card-rows" }, el("h3", { text: "Nearest to its limits" }), this.#pairs.element);
    this.#body = el("div", { class: "card-body" }, this.#head, this.form.element, this.#rows, this.#files);
    room.replaceChildren(this.#body, this.form.help);
  }

  render(state: Bench, before: Bench | undefined): void {
    const part = state.parts.find(({ id }) => id === state.card);
    this.form.render(state);
    if (before?.card !== state.card) this.#body.scrollTop = 0;
    if (before !== undefined && before.parts === state.parts && before.measures === state.measures && before.card === state.card && before.row === state.row && before.unit === state.unit && shownList(before) === shownList(state)) {
      if (isHolding(before) !== isHolding(state)) this.#renderRows(state, part);
      return;
    }
    this.#head.replaceChildren(...this.#headOf(state, part));
    this.#renderRows(state, part);
    const id = part?.keepout === false ? part.id : undefined;
    if (id !== this.#filesOf) {
      this.#filesOf = id;
      this.#files.replaceChildren(...(id === undefined ? [] : [this.exports.partFiles(id)]));
    }
  }

  /** The fields and the nearest rows go with a part that is held. */
  follow(state: Bench, before: Bench): void {
    if (state.placing?.at !== before.placing?.at) this.form.follow({ ...state, draft: heldJob(state) });
    if (shownList(before) !== shownList(state)) this.#renderRows(state, state.parts.find(({ id }) => id === state.card));
  }

  #headOf(state: Bench, part: PartInfo | undefined): HTMLElement[] {
    const general = GENERAL_CARDS.find(({ id }) => id === state.card);
    const title = el("h2", { text: part === undefined ? (general?.name ?? inWords(state.card)) : partTitle(part), attributes: { id: "card-title" } });
    if (part === undefined) {
      const says = general?.says ?? planOf(state.schema ?? null, state.card)?.help ?? "";
      // a section with a card of its own says the same above its fields
      return general === undefined ? [title] : [title, el("p", { class: "says", text: says })];
    }
    if (part.keepout) return [title, el("p", { class: "says", text: "Not made, only kept clear." })];
    const [from, to] = part.bboxMm;
    const measure = state.measures.get(part.id);
    const size = [to[0] - from[0], to[1] - from[1], to[2] - from[2]].map((side) => lengthText(side, state.unit)).join(" × ");
    return [
      title,
      el("p", { class: "metal" }, metalSwatch(part.colour), sentence(`${part.metalName}, ${part.madeBy}`)),
      el(
        "dl",
        { class: "figures" },
        ...figure("Mass", measureText(measure?.mass_g, 2, " g")),
        ...figure("Volume", measureText(measure?.volume_mm3, 1, " mm³")),
        ...figure("Surface", measureText(measure?.area_mm2, 1, " mm²")),
        ...figure("Size", `${size} ${state.unit}`),
      ),
    ];
  }

  #renderRows(state: Bench, part: PartInfo | undefined): void {
    const list = shownList(state);
    const entries = part === undefined || list === undefined ? [] : entriesOf(list).filter(({ lead: { a, b } }) => a === part.id || b === part.id);
    setHidden(this.#rows, entries.length === 0);
    this.#pairs.render(entries, entries.slice(0, ROWS), part?.id ?? "", state);
  }
}

function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function figure(name: string, value: string): HTMLElement[] {
  return [el("dt", { text: name }), el("dd", { text: value })];
}
