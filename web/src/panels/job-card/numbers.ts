// A number of the card in words: with its unit and what it may be off by, or that it is not known and why.
import type { LengthUnit } from "../../state/lengths.ts";
import type { CardNumber } from "../../worker/card-talk.ts";
import { el } from "../../dom.ts";

/** By definition of the inch. */
const MM_PER_INCH = 25.4;
/** A tolerance wider than this share of the value makes it a range. */
const WIDE = 0.15;
/** More digits than anybody measures. */
const MOST_PLACES = 4;

/** Digits after the point that say something of a value that may be off by so much; of an exact one, three that count. */
function placesOf(value: number, off: number): number {
  const last = off > 0 ? off : Math.abs(value) / 100;
  if (last === 0) return 0;
  const power = Math.floor(Math.log10(last));
  // one digit of what it may be off by, two where that begins with a small one
  const digits = last / 10 ** power < 3 ? 1 : 0;
  const places = Math.min(MOST_PLACES, Math.max(0, digits - power));
  // what was chosen or counted has no more digits than it was given
  return off > 0 ? places : Math.min(places, (String(Number(value.toFixed(MOST_PLACES))).split(".")[1] ?? "").length);
}

function plain(value: number, places: number): string {
  const text = value.toFixed(places);
  return Number(text) === 0 ? text.replace("-", "") : text;
}

function inUnit({ value, tolerance, unit }: CardNumber, shown: LengthUnit): { value: number; below: number; above: number; end: string; places: number } | undefined {
  if (value === null || tolerance === null) return undefined;
  const turned = unit === "mm" && shown === "in";
  const share = turned ? 1 / MM_PER_INCH : 1;
  const [below, above] = [tolerance[0] * share, tolerance[1] * share];
  const said = turned ? "in" : unit;
  return { value: value * share, below, above, end: said === "" ? "" : ` ${said}`, places: placesOf(value * share, Math.max(-below, above)) };
}

/** The value with its unit alone. */
export function shortText(number: CardNumber, unit: LengthUnit): string {
  const shown = inUnit(number, unit);
  return shown === undefined ? "not known" : `${plain(shown.value, shown.places)}${shown.end}`;
}

/** The value with what it may be off by; or why it is not known. */
export function numberText(number: CardNumber, unit: LengthUnit): string {
  const shown = inUnit(number, unit);
  if (shown === undefined) return `not known: ${number.not_known ?? ""}`;
  const { value, below, above, end, places } = shown;
  const text = (amount: number) => plain(amount, places);
  const [low, high] = [text(value + below), text(value + above)];
  if (low === high) return `${text(value)}${end}`;
  const even = Math.abs(below + above) < 1e-5 * (1 + above);
  if (even && above > WIDE * Math.abs(value)) return `${low} to ${high}${end}`;
  return even ? `${text(value)} ±${text(above)}${end}` : `${text(value)} (${low} to ${high})${end}`;
}

/** Numbers with their names. */
export function numberList(rows: readonly (readonly [string, CardNumber])[], unit: LengthUnit): HTMLElement {
  return el("dl", { class: "card-numbers" }, ...rows.flatMap(([name, number]) => [el("dt", { text: name }), el("dd", { text: numberText(number, unit) })]));
}

/** Every number in something the core answered. */
function numbersIn(value: unknown): CardNumber[] {
  if (typeof value !== "object" || value === null) return [];
  if ("unit" in value && "tolerance" in value && "source" in value) return [value as CardNumber];
  return Object.values(value).flatMap(numbersIn);
}

/** Where the numbers of an answer come from, each source once. */
export function sources(answer: unknown): HTMLElement {
  const said = [...new Set(numbersIn(answer).map(({ source }) => source).filter((source) => source !== ""))];
  return el("details", { class: "card-sources" }, el("summary", { text: "Where these numbers come from" }), el("ul", {}, ...said.map((text) => el("li", { text }))));
}

/** A table that can be pushed sideways where the page is narrow. */
export function table(caption: string, heads: readonly string[], rows: readonly { cells: readonly (string | HTMLElement)[]; class?: string | undefined }[]): HTMLElement {
  const cell = (content: string | HTMLElement, index: number) => {
    const made = index === 0 ? el("th", { attributes: { scope: "row" } }) : el("td");
    made.append(content);
    return made;
  };
  return el(
    "div",
    { class: "card-table", attributes: { tabindex: 0, role: "region", "aria-label": caption } },
    el(
      "table",
      {},
      el("caption", { text: caption }),
      el("thead", {}, el("tr", {}, ...heads.map((text) => el("th", { text, attributes: { scope: "col" } })))),
      el("tbody", {}, ...rows.map((row) => el("tr", { class: row.class }, ...row.cells.map(cell)))),
    ),
  );
}
