// The blank as it is drawn: its strains on it and on the half shell it becomes, and the same in words and numbers.
import { type LengthUnit, lengthsIn, lengthText } from "../../state/lengths.ts";
import type { BlankView } from "../../worker/blanks-talk.ts";
import { el } from "../../dom.ts";
import { blankPicture, gaugePicture, halfPicture } from "./pictures.ts";
import { endOf, legend, percents, type Shown, SHOWN } from "./strain.ts";
import { blankWords, costWords } from "./words.ts";

export class BlankPanel {
  readonly element = el("div", { class: "blanks-body" });
  readonly gauges = el("ul", { class: "gauge-list" });
  #views: readonly BlankView[] = [];
  #unit: LengthUnit = "mm";
  #shown: Shown = "stretch";
  #order = 0;
  #turnDeg = 0;
  readonly #behind = el("p", { class: "fault warning", text: "Shown as it was before: what is chosen now must be put right first.", attributes: { hidden: true } });
  readonly #half = el("div", { class: "half-scroll" });
  readonly #turn = el("input", {
    attributes: { type: "range", min: -80, max: 80, step: 5, value: 0, id: "blanks-turn" },
    on: {
      input: () => {
        this.#turnDeg = Number(this.#turn.value);
        this.#drawHalf();
      },
    },
  });

  render(views: readonly BlankView[], unit: LengthUnit): void {
    this.#views = views;
    this.#unit = unit;
    this.#order = Math.min(this.#order, Math.max(0, views.length - 1));
    this.#draw();
  }

  /** Whether what is shown is of what was chosen before. */
  behind(behind: boolean): void {
    this.#behind.hidden = !behind;
    for (const element of [this.element, this.gauges]) element.classList.toggle("behind", behind);
  }

  #draw(): void {
    const view = this.#views[this.#order];
    if (view === undefined) return;
    const focused = document.activeElement instanceof HTMLElement && this.element.contains(document.activeElement) ? document.activeElement.dataset["key"] : undefined;
    const unit = this.#unit;
    const values = percents(view, this.#shown);
    const name = SHOWN.find(({ id }) => id === this.#shown)?.name ?? "";
    const words = costWords(view, unit);
    this.element.replaceChildren(
      this.#behind,
      ...(this.#views.length > 1 ? [this.#orders()] : []),
      el("p", { text: blankWords(view, unit) }),
      el(
        "div",
        { class: "switch", attributes: { role: "radiogroup", "aria-label": "What the colours show" } },
        ...SHOWN.map(({ id, name: called }) =>
          el(
            "label",
            {},
            el("input", {
              attributes: { type: "radio", name: "blanks-shown", value: id, checked: id === this.#shown, "data-key": `shown-${id}` },
              on: {
                change: () => {
                  this.#shown = id;
                  this.#draw();
                },
              },
            }),
            el("span", { text: called }),
          ),
        ),
      ),
      el("div", { class: "picture-scroll", attributes: { tabindex: 0, role: "region", "aria-label": "Picture of the blank" } }, blankPicture(view, this.#shown, unit, `The blank with its ${name.toLowerCase()}. ${words.slice(0, 3).map(({ text }) => text).join(" ")}`)),
      legend(this.#shown, endOf(values)),
      el("p", { class: "field-help", text: "Bold: where it is cut. Dashed: the finished edges. Fine: a station every 10 mm. Dash and dot: the line along the side of the tube. The cross on the upper seam: where the vent is drilled once the halves are soldered." }),
      el("ul", { class: "cost-words" }, ...words.map(({ text, fails }) => el("li", { class: fails ? "fault" : "", text }))),
      el("h4", { text: "The half shell it becomes" }),
      this.#half,
      el("p", { class: "turn-line" }, el("label", { text: "Turn it", attributes: { for: "blanks-turn" } }), this.#turn),
      this.#table(view),
    );
    this.#drawHalf();
    this.gauges.replaceChildren(
      ...view.gauges.map(({ words: said, outline }) => {
        const says = lengthsIn(said, unit);
        return el("li", {}, gaugePicture(outline, says), el("span", { text: says }));
      }),
    );
    if (focused !== undefined) this.element.querySelector<HTMLElement>(`[data-key="${CSS.escape(focused)}"]`)?.focus();
  }

  #orders(): HTMLElement {
    const select = el(
      "select",
      {
        attributes: { id: "blanks-shown-order", "data-key": "shown-order" },
        on: {
          change: () => {
            this.#order = Number(select.value);
            this.#draw();
          },
        },
      },
      ...this.#views.map(({ order }, index) => el("option", { text: `${String.fromCharCode(65 + index)}: order ${order}`, attributes: { value: index, selected: index === this.#order } })),
    );
    return el("p", { class: "turn-line" }, el("label", { text: "Blank of", attributes: { for: "blanks-shown-order" } }), select);
  }

  #drawHalf(): void {
    const view = this.#views[this.#order];
    if (view !== undefined) this.#half.replaceChildren(halfPicture(view, this.#shown, this.#turnDeg, "The right half shell as it is formed, seen from its own side, in the same colours"));
  }

  /** The map in numbers: of every station the greatest and the least round the tube. */
  #table(view: BlankView): HTMLElement {
    const rows = new Map<number, { to: number; cells: BlankView["costs"]["map"] }>();
    for (const cell of view.costs.map) {
      const [from, to] = cell.station_mm;
      const row = rows.get(from);
      if (row === undefined) rows.set(from, { to, cells: [cell] });
      else row.cells.push(cell);
    }
    const unit = this.#unit;
    const percent = (strain: number) => `${((Math.exp(strain) - 1) * 100).toFixed(1)} %`;
    const lines = [...rows].map(([from, { to, cells }]) => {
      const most = Math.max(...cells.map(({ stretch }) => stretch));
      const least = Math.min(...cells.map(({ shrink }) => shrink));
      const thick = cells.map(({ thickness_mm }) => thickness_mm);
      return [`${lengthText(from, unit)} to ${lengthText(to, unit)}`, percent(most), percent(least), `${lengthText(Math.min(...thick), unit, 1)} to ${lengthText(Math.max(...thick), unit, 1)}`];
    });
    return el(
      "details",
      { class: "strain-table" },
      el("summary", { text: "The map in numbers" }),
      el(
        "div",
        { class: "picture-scroll", attributes: { tabindex: 0, role: "region", "aria-label": "The map in numbers" } },
        el(
          "table",
          {},
          el("thead", {}, el("tr", {}, ...[`Stations, ${unit}`, "Most stretch", "Most shrink", `Thickness, ${unit}`].map((text) => el("th", { text, attributes: { scope: "col" } })))),
          el("tbody", {}, ...lines.map(([station, ...cells]) => el("tr", {}, el("th", { text: station ?? "", attributes: { scope: "row" } }), ...cells.map((text) => el("td", { class: "number", text }))))),
        ),
      ),
    );
  }
}
