// The card of what is chosen: what it is, its fields, its rows of the list, its files.
import { type Bench, type BenchStore, inReadingOrder } from "../state/bench.ts";
import { GENERAL_CARDS, partTitle } from "../state/cards.ts";
import { lengthText, measureText } from "../state/lengths.ts";
import { inWords, planOf } from "../state/schema.ts";
import type { PartInfo } from "../worker/protocol.ts";
import { rowButton, toggleRow } from "./clearances.ts";
import { el } from "../dom.ts";
import type { Exports } from "./exports.ts";
import { ParameterForm } from "./parameters.ts";
import { metalSwatch } from "./tray.ts";

/** Rows of a part on its card: the nearest ones; the list has them all. */
const ROWS = 5;

export class CardPanel {
  readonly form: ParameterForm;
  readonly #head = el("header", { class: "card-head" });
  readonly #rows = el("div", { class: "card-rows" });
  readonly #files = el("div");
  readonly #body: HTMLElement;
  #filesOf: string | undefined;

  constructor(
    private readonly bench: BenchStore,
    room: HTMLElement,
    private readonly exports: Exports,
  ) {
    this.form = new ParameterForm(bench);
    this.#body = el("div", { class: "card-body" }, this.#head, this.form.element, this.#rows, this.#files);
    room.replaceChildren(this.#body, this.form.help);
  }

  render(state: Bench, before: Bench | undefined): void {
    const part = state.parts.find(({ id }) => id === state.card);
    this.form.render(state);
    if (before?.card !== state.card) this.#body.scrollTop = 0;
    if (before !== undefined && before.parts === state.parts && before.measures === state.measures && before.card === state.card && before.row === state.row && before.unit === state.unit && before.clearances === state.clearances) return;
    this.#head.replaceChildren(...this.#headOf(state, part));
    this.#renderRows(state, part);
    const id = part?.keepout === false ? part.id : undefined;
    if (id !== this.#filesOf) {
      this.#filesOf = id;
      this.#files.replaceChildren(...(id === undefined ? [] : [this.exports.partFiles(id)]));
    }
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
        ...figure("Box", `${size} ${state.unit}`),
      ),
    ];
  }

  #renderRows(state: Bench, part: PartInfo | undefined): void {
    const rows = part === undefined ? [] : inReadingOrder((state.clearances?.pairs ?? []).filter(({ a, b }) => a === part.id || b === part.id)).slice(0, ROWS);
    const focused = document.activeElement instanceof HTMLElement && this.#rows.contains(document.activeElement) ? document.activeElement.dataset["row"] : undefined;
    this.#rows.replaceChildren(
      ...(rows.length === 0 ? [] : [el("h3", { text: "Nearest to its limits" }), el("ul", { class: "pairs" }, ...rows.map((row) => el("li", {}, rowButton(row, state, (picked) => toggleRow(this.bench, picked)))))]),
    );
    if (focused !== undefined) this.#rows.querySelector<HTMLElement>(`[data-row="${CSS.escape(focused)}"]`)?.focus();
  }
}

function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function figure(name: string, value: string): HTMLElement[] {
  return [el("dt", { text: name }), el("dd", { text: value })];
}
