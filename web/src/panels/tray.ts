// The parts laid out under the neck: each with its metal, shown or hidden by its box, its card opened by its name.
import type { Bench, BenchStore } from "../state/bench.ts";
import { GENERAL_CARDS, partTitle, sectionsWithoutPart } from "../state/cards.ts";
import { type LengthUnit, lengthText, measureText } from "../state/lengths.ts";
import { inWords } from "../state/schema.ts";
import type { PartInfo } from "../worker/protocol.ts";
import { el } from "../dom.ts";

export class Tray {
  #drawnAs = "";
  readonly #table = el("table");
  /** Kept while the lines above it are drawn anew, so that it stays as open and as scrolled as it was. */
  readonly #twin = el(
    "details",
    { class: "twin" },
    el("summary", { text: "Volumes and sizes" }),
    el("div", { class: "twin-scroll", attributes: { tabindex: 0, role: "region", "aria-label": "Volumes and sizes of all parts" } }, this.#table),
  );

  constructor(
    private readonly bench: BenchStore,
    private readonly room: HTMLElement,
    private readonly chooseCard: (card: string) => void,
  ) {}

  render(state: Bench, before: Bench | undefined): void {
    if (before?.parts !== state.parts || before.measures !== state.measures || before.unit !== state.unit) this.#drawTable(state);
    // on the way to the first neck every part would be told to be missing
    const waiting = state.parts.length === 0 && (state.work === "loading" || state.work === "building");
    const drawnAs = JSON.stringify([state.parts.map(({ id, name, colour }) => [id, name, colour]), state.card, [...state.hidden]]);
    if (drawnAs === this.#drawnAs || state.schema === undefined || waiting) return;
    this.#drawnAs = drawnAs;
    const focused = document.activeElement instanceof HTMLElement && this.room.contains(document.activeElement) ? document.activeElement.dataset["key"] : undefined;
    const made = state.parts.filter((part) => !part.keepout);
    const keepouts = state.parts.filter((part) => part.keepout);
    const absent = sectionsWithoutPart(state.schema, state.parts);
    for (const line of this.room.querySelectorAll(".tray-line")) line.remove();
    this.room.prepend(
      this.#line("On the whole", GENERAL_CARDS.map(({ id, name }) => this.#chip(id, name, state))),
      this.#line("Made", [...made.map((part) => this.#part(part, state)), ...absent.map((section) => this.#chip(section, `${inWords(section)}: none`, state))]),
      this.#line("Only cleared", keepouts.map((part) => this.#part(part, state))),
    );
    if (!this.#twin.isConnected) this.room.append(this.#twin);
    if (focused !== undefined) this.room.querySelector<HTMLElement>(`[data-key="${CSS.escape(focused)}"]`)?.focus();
  }

  #line(title: string, chips: HTMLElement[]): HTMLElement {
    return el("div", { class: "tray-line", attributes: { role: "group", "aria-label": title } }, el("span", { class: "tray-title", text: title }), ...chips);
  }

  #chip(card: string, name: string, state: Bench): HTMLElement {
    return el("span", { class: state.card === card ? "chip chosen" : "chip" }, this.#name(card, name, state));
  }

  #name(card: string, name: string, state: Bench): HTMLElement {
    return el("button", {
      text: name,
      attributes: { type: "button", "aria-pressed": String(state.card === card), "aria-controls": "card", "data-key": `card-${card}` },
      on: { click: () => this.chooseCard(card) },
    });
  }

  #part(part: PartInfo, state: Bench): HTMLElement {
    const box = el("input", {
      attributes: { type: "checkbox", checked: !state.hidden.has(part.id), "aria-label": `Show ${partTitle(part)}`, title: `Show ${partTitle(part)}`, "data-key": `show-${part.id}` },
      on: {
        change: () => {
          const hidden = new Set(this.bench.get().hidden);
          if (box.checked) hidden.delete(part.id);
          else hidden.add(part.id);
          this.bench.set({ hidden });
        },
      },
    });
    const swatch = part.keepout ? el("span", { class: "swatch keepout" }) : metalSwatch(part.colour);
    return el("span", { class: state.card === part.id ? "chip chosen" : "chip", attributes: { "data-part": part.id } }, box, swatch, this.#name(part.id, partTitle(part), state));
  }

  /** The view in words and numbers. */
  #drawTable({ parts, measures, unit }: Bench): void {
    const titles = ["Part", "Material", "Volume mm³", "Mass g", `Reaches from (${unit})`, `Reaches to (${unit})`];
    this.#table.replaceChildren(
      el("caption", { class: "unseen", text: "Every part: what it is made of, its volume, its mass, and from where to where it reaches along, to the player's left and up" }),
      el("thead", {}, el("tr", {}, ...titles.map((title) => el("th", { text: title, attributes: { scope: "col" } })))),
      el(
        "tbody",
        {},
        ...parts.map((part) => {
          const measure = measures.get(part.id);
          return el(
            "tr",
            {},
            el("th", { text: partTitle(part), attributes: { scope: "row" } }),
            el("td", { text: part.metalName ?? "only cleared" }),
            // what is only cleared is not made, and nobody weighs it
            el("td", { class: "number", text: part.keepout ? "" : measureText(measure?.volume_mm3, 1) }),
            el("td", { class: "number", text: part.keepout ? "" : measureText(measure?.mass_g, 2) }),
            el("td", { class: "number", text: cornerText(part.bboxMm[0], unit) }),
            el("td", { class: "number", text: cornerText(part.bboxMm[1], unit) }),
          );
        }),
      ),
    );
  }
}

function cornerText(corner: readonly number[], unit: LengthUnit): string {
  return corner.map((value) => lengthText(value, unit)).join(", ");
}

/** A drop of the metal's colour. Set through the style object: the page allows no style in its markup. */
export function metalSwatch(colour: string): HTMLElement {
  const swatch = el("span", { class: "swatch" });
  swatch.style.setProperty("--metal", colour);
  return swatch;
}
