// The list of clearances, number first, what fails before what is clear. A row takes the view to its place.
import { type Bench, type BenchStore, chosenRow, inReadingOrder, rowKey, verdict } from "../state/bench.ts";
import { type LengthUnit, lengthText } from "../state/lengths.ts";
import type { Clearance, PartInfo } from "../worker/protocol.ts";
import { el, setText, svg } from "../dom.ts";

/** Rows shown before the rest is asked for: nobody reads four hundred that are clear, and on a phone not forty. */
const FIRST_ROWS = 40;
const FIRST_ROWS_NARROW = 8;

/** Fits are judged by thousandths, and hundredths would hide what they are judged by. */
const FIT_MM = 0.1;

function measured(row: Clearance, mm: number, unit: LengthUnit): string {
  return lengthText(mm, unit, (row.required_max_mm ?? Infinity) <= FIT_MM ? 1 : 0);
}

/** `0.31 mm`, or how deep two parts are in one another. */
export function gapText(row: Clearance, unit: LengthUnit): string {
  return row.state === "overlapping" ? `${numberText(row, unit)} overlap` : numberText(row, unit);
}

export function pairText(row: Clearance, nameOf: (id: string) => string): string {
  return `${nameOf(row.a)} to ${nameOf(row.b)}`;
}

/** The number alone; the word at the end of the row says what it is. */
function numberText(row: Clearance, unit: LengthUnit): string {
  const length = row.state === "overlapping" ? row.overlap_mm : row.gap_mm;
  return `${row.at_least === true ? "> " : ""}${measured(row, length, unit)} ${unit}`;
}

/** What is wanted of the gap, and in which position of the key. */
export function needText(row: Clearance, unit: LengthUnit): string {
  const [least, most] = [row.required_min_mm ?? undefined, row.required_max_mm ?? undefined];
  const limits = [least, most].flatMap((mm) => (mm === undefined ? [] : [measured(row, mm, unit)])).join(" to ");
  const need = row.relation === "seat" ? "must touch" : limits === "" ? "nothing asked" : `needs ${limits}`;
  return row.pose === "static" ? need : `${need}, ${poseText(row)}`;
}

function poseText(row: Clearance): string {
  return row.pose === "closed" ? "key closed" : `key at ${(row.key_angle_deg ?? 0).toFixed(1)}°`;
}

export function namer(parts: readonly PartInfo[]): (id: string) => string {
  const names = new Map(parts.map((part) => [part.id, part.name]));
  return (id) => names.get(id) ?? id.replaceAll("_", " ");
}

/** A wedge for what fails, a ring for what is clear: the shape says it without the colour. */
function shape(row: Clearance): SVGElement {
  return svg("svg", { class: "shape", attributes: { viewBox: "0 0 16 16", "aria-hidden": "true" } }, row.ok ? svg("circle", { attributes: { cx: 8, cy: 8, r: 4 } }) : svg("path", { attributes: { d: "M8 14L1 2h14z" } }));
}

/** One row as a button; the same on the list and on a part's card. */
export function rowButton(row: Clearance, state: Bench, choose: (row: Clearance) => void): HTMLButtonElement {
  const name = namer(state.parts);
  const key = rowKey(row);
  return el(
    "button",
    {
      class: row.ok ? "pair" : "pair fails",
      attributes: { type: "button", "data-row": key, "aria-pressed": String(state.row === key) },
      on: { click: () => choose(row) },
    },
    shape(row),
    el("span", { class: "gap", text: numberText(row, state.unit) }),
    el("span", { class: "what" }, el("span", { class: "names", text: pairText(row, name) }), el("span", { class: "need", text: `, ${needText(row, state.unit)}` })),
    el("span", { class: "word", text: verdict(row) }),
  );
}

/** Chooses a row, or leaves it when it was chosen already. */
export function toggleRow(bench: BenchStore, row: Clearance): void {
  const key = rowKey(row);
  bench.set({ row: bench.get().row === key ? undefined : key });
}

export class ClearancePanel {
  #all = false;

  constructor(
    private readonly bench: BenchStore,
    private readonly list: HTMLElement,
    private readonly verdictLine: HTMLElement,
  ) {}

  render(state: Bench): void {
    const { clearances } = state;
    if (clearances === undefined) return;
    const rows = inReadingOrder(clearances.pairs);
    const failed = rows.filter((row) => !row.ok).length;
    setText(this.verdictLine, failed === 0 ? `All ${rows.length} are within their limits` : `${failed} of ${rows.length} ${failed === 1 ? "is" : "are"} not within ${failed === 1 ? "its" : "their"} limits`);
    this.verdictLine.classList.toggle("fails", failed > 0);
    const chosen = chosenRow(state);
    const first = matchMedia("(min-width: 960px)").matches ? FIRST_ROWS : FIRST_ROWS_NARROW;
    const shown = this.#all ? rows : rows.slice(0, Math.max(first, failed));
    if (chosen !== undefined && !shown.includes(chosen)) shown.push(chosen);

    const focused = document.activeElement instanceof HTMLElement && this.list.contains(document.activeElement) ? document.activeElement.dataset["row"] : undefined;
    this.list.replaceChildren(
      el("ul", { class: "pairs", attributes: { "aria-label": "Clearances, those that fail first" } }, ...shown.map((row) => el("li", {}, rowButton(row, state, (picked) => toggleRow(this.bench, picked))))),
      ...(rows.length > shown.length || this.#all ? [this.#more(rows.length - shown.length)] : []),
    );
    if (focused !== undefined) this.list.querySelector<HTMLElement>(`[data-row="${CSS.escape(focused)}"]`)?.focus();
  }

  #more(left: number): HTMLElement {
    return el("button", {
      class: "plain",
      text: this.#all ? "Show the nearest only" : `Show the other ${left}`,
      attributes: { type: "button" },
      on: {
        click: () => {
          this.#all = !this.#all;
          this.render(this.bench.get());
        },
      },
    });
  }
}
