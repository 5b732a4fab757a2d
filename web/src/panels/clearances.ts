// The list of clearances, number first, what fails before what is clear, one entry for each pair. A row takes the view to
// its place and the key to its angle.
import { type Bench, type BenchStore, shownList } from "../state/bench.ts";
import { type LengthUnit, lengthText } from "../state/lengths.ts";
import { type Entry, entriesOf, isFailing, isTurned, rowKey, rowOf, verdict } from "../state/pairs.ts";
import type { WaysOut } from "../state/ways-out.ts";
import type { Clearance, PartInfo } from "../worker/protocol.ts";
import { el, setAttribute, setHidden, setText, svg } from "../dom.ts";
import { WaysOutRoom } from "./ways-out.ts";

/** Pairs shown before the rest is asked for: nobody reads two hundred that are clear, and on a phone not forty. */
const FIRST_PAIRS = 40;
const FIRST_PAIRS_NARROW = 8;

/** Fits are judged by thousandths, and hundredths would hide what they are judged by. */
const FIT_MM = 0.1;

function measured(row: Clearance, mm: number, unit: LengthUnit): string {
  return lengthText(mm, unit, (row.required_max_mm ?? Infinity) <= FIT_MM ? 1 : 0);
}

/** `0.31 mm`, or how deep two parts are in one another. */
export function gapText(row: Clearance, unit: LengthUnit): string {
  return row.state === "overlapping" ? `${numberText(row, unit)} overlap` : numberText(row, unit);
}

export function pairText(row: Pick<Clearance, "a" | "b">, nameOf: (id: string) => string): string {
  return `${nameOf(row.a)} to ${nameOf(row.b)}`;
}

/** The number alone; the word at the end of the row says what it is. */
function numberText(row: Clearance, unit: LengthUnit): string {
  const deep = row.state === "overlapping";
  // Of an overlap a bound says that it is no deeper.
  const bound = row.at_least !== true ? "" : deep ? "≤ " : "> ";
  return `${bound}${measured(row, deep ? row.overlap_mm : row.gap_mm, unit)} ${unit}`;
}

/** What is wanted of the gap. */
function askedText(row: Clearance, unit: LengthUnit): string {
  const [least, most] = [row.required_min_mm ?? undefined, row.required_max_mm ?? undefined];
  const limits = [least, most].flatMap((mm) => (mm === undefined ? [] : [measured(row, mm, unit)])).join(" to ");
  return limits === "" ? "nothing asked" : row.relation === "seat" ? "must touch" : `needs ${limits}`;
}

/** What is wanted of the gap, and in which position of key and neck. */
export function needText(row: Clearance, unit: LengthUnit): string {
  const need = askedText(row, unit);
  const pose = poseText(row);
  return pose === "" ? need : `${need}, ${pose}`;
}

export function angleText(degrees: number): string {
  const text = degrees.toFixed(2);
  return `${Number(text) === 0 ? text.replace("-", "") : text}°`;
}

/** `1.1°`, to either side: which one it is stands in the files. */
function turnText(degrees: number): string {
  return `${Math.abs(degrees).toFixed(1)}°`;
}

/** `neck turned 15.0°`, `key closed`, `key at 1.20°`; nothing for what never moves. */
export function poseText(row: Clearance): string {
  const key = row.key_angle_deg === null || row.key_angle_deg === undefined ? undefined : `key at ${angleText(row.key_angle_deg)}`;
  if (isTurned(row)) return [`neck turned ${turnText(row.horn_angle_deg ?? 0)}`, key].filter(Boolean).join(", ");
  return row.pose === "closed" ? "key closed" : row.pose === "open" ? "key open" : (key ?? "");
}

/** One pose of a pair in short: `closed 1.86`, `least 1.75 mm at 2.18°`. */
function shortText(row: Clearance, unit: LengthUnit): string {
  const length = gapText(row, unit);
  // where no angle stands beside it the unit of the number in front of the pair is unit enough
  const bare = row.state === "overlapping" ? length : length.replace(` ${unit}`, "");
  const key = row.key_angle_deg ?? 0;
  const said = isTurned(row)
    ? `neck turned ${turnText(row.horn_angle_deg ?? 0)}${key === 0 ? "" : `, key at ${angleText(key)}`}: ${length}`
    : row.pose === "static"
      ? `neck straight ${bare}`
      : row.pose === "swing"
        ? `least ${length} at ${angleText(key)}`
        : `${row.pose} ${bare}`;
  return row.ok ? said : row.state === "overlapping" ? `▼ ${said}` : `▼ ${said} (${verdict(row)})`;
}

/** Whether every pose of a pair reads the same. */
function isSteady({ rows, lead }: Entry, unit: LengthUnit): boolean {
  return rows.every((row) => row.ok === lead.ok && gapText(row, unit) === gapText(lead, unit));
}

/** What stands after the names: what is asked, in which positions, and what hands leave of the gap. */
function entryNeed(entry: Entry, unit: LengthUnit): string {
  const { lead, rows } = entry;
  const keyMoves = rows.some((row) => row.pose === "closed");
  const everywhere = [keyMoves ? "key closed to open" : "", rows.some(isTurned) ? "neck straight or turned" : ""].filter((words) => words !== "");
  // the poses stand under it, each with its own number; one angle for all of them stands above the list
  const need = rows.length === 1 && lead.pose !== "at" ? needText(lead, unit) : [askedText(lead, unit), ...(isSteady(entry, unit) ? everywhere : [])].join(", ");
  const left = lead.by_hand_mm ?? undefined;
  // what does not fit when it is placed well needs no word about hands
  if (left === undefined || !lead.ok) return need;
  const length = `${lengthText(Math.abs(left), unit)} ${unit}`;
  if (left < 0) return `${need}; ▽ placed by hand they may overlap by ${length}`;
  return `${need}; ${lead.by_hand_ok === false ? "▽ placed by hand only" : "placed by hand"} ${length} of it may be left`;
}

/** Asked for by every row of every list. */
const namers = new WeakMap<readonly PartInfo[], (id: string) => string>();

export function namer(parts: readonly PartInfo[]): (id: string) => string {
  const there = namers.get(parts);
  if (there !== undefined) return there;
  const names = new Map(parts.map((part) => [part.id, part.name]));
  const nameOf = (id: string) => names.get(id) ?? id.replaceAll("_", " ");
  namers.set(parts, nameOf);
  return nameOf;
}

/** A wedge for what fails, a hollow one for what hands may spoil, a ring for what is clear: the shape says it without the colour. */
export function mark(ok: boolean, inDoubt = false): SVGElement {
  const drawn = ok && !inDoubt ? svg("circle", { attributes: { cx: 8, cy: 8, r: 4 } }) : svg("path", { attributes: { d: "M8 14L1 2h14z" } });
  return svg("svg", { class: "shape", attributes: { viewBox: "0 0 16 16", "aria-hidden": "true" } }, drawn);
}

/** One pair of the list, kept from one list to the next: a number that changes takes no button from under the pointer. */
class EntryLine {
  readonly element: HTMLElement;
  readonly #button: HTMLButtonElement;
  readonly #shape = el("span", { class: "shape-room" });
  readonly #gap = el("span", { class: "gap" });
  readonly #names = el("span", { class: "names" });
  readonly #need = el("span", { class: "need" });
  readonly #word = el("span", { class: "word" });
  /** The other poses, read. */
  readonly #told = el("span", { class: "poses" });
  /** The same as buttons, once the pair is chosen. */
  readonly #poses = el("div", { class: "pose-buttons", attributes: { role: "group" } });
  /** The ways out of it while it fails, on the list that has them. */
  readonly #wayOut: WaysOutRoom | undefined;
  #entry: Entry;
  #drawn = "";
  #shapeDrawn = "";
  #drawnFor: { unit: LengthUnit; parts: readonly PartInfo[]; isChosen: boolean } | undefined;

  constructor(
    entry: Entry,
    private readonly bench: BenchStore,
    ways: WaysOut | undefined,
  ) {
    this.#entry = entry;
    this.#button = el(
      "button",
      { class: "pair", attributes: { type: "button", "data-row": entry.key }, on: { click: () => this.#toggle() } },
      this.#shape,
      this.#gap,
      el("span", { class: "what" }, this.#names, this.#need, this.#told),
      this.#word,
    );
    if (ways !== undefined) this.#wayOut = new WaysOutRoom(bench, ways, entry.lead, () => this.#button.focus());
    this.element = el("li", {}, this.#button, this.#poses, this.#wayOut?.element);
  }

  render(entry: Entry, state: Bench): void {
    const { lead, rows } = entry;
    const { unit, parts } = state;
    // while a part is moved most rows are the very same as before
    const isSame = this.#entry.rows.length === rows.length && rows.every((row, index) => row === this.#entry.rows[index]);
    this.#entry = entry;
    const isChosen = chosenPair(state) === entry.key;
    if (isSame && !isChosen && this.#drawnFor?.unit === unit && this.#drawnFor.parts === parts && !this.#drawnFor.isChosen) return;
    this.#drawnFor = { unit, parts, isChosen };
    const chosen = chosenPair(state) === entry.key ? rowKeyShown(state) : undefined;
    const others = rows.length > 1 && !isSteady(entry, unit) ? rows.map((row) => ({ key: rowKey(row), text: shortText(row, unit) })) : [];
    if (this.#wayOut !== undefined) {
      const fails = chosen !== undefined && isFailing(entry);
      setHidden(this.#wayOut.element, !fails);
      this.element.classList.toggle("wide", fails);
      if (fails) this.#wayOut.render(state);
    }
    const name = pairText(lead, namer(state.parts));
    const word = lead.ok && lead.by_hand_ok === false ? "by hand tight" : verdict(lead);
    const drawn = JSON.stringify([numberText(lead, unit), name, entryNeed(entry, unit), word, lead.ok, others, chosen]);
    if (drawn === this.#drawn) return;
    this.#drawn = drawn;
    this.#button.classList.toggle("fails", !lead.ok);
    setAttribute(this.#button, "aria-pressed", String(chosen !== undefined));
    const shape = `${lead.ok} ${lead.by_hand_ok === false}`;
    if (shape !== this.#shapeDrawn) this.#shape.replaceChildren(mark(lead.ok, lead.by_hand_ok === false));
    this.#shapeDrawn = shape;
    setText(this.#gap, numberText(lead, unit));
    setText(this.#names, name);
    setText(this.#need, `, ${entryNeed(entry, unit)}`);
    setText(this.#word, word);
    const asButtons = chosen !== undefined && others.length > 0;
    setText(this.#told, asButtons ? "" : others.map(({ text }) => text).join(", "));
    setHidden(this.#poses, !asButtons);
    setAttribute(this.#poses, "aria-label", `${name}: positions`);
    const focused = document.activeElement instanceof HTMLElement && this.#poses.contains(document.activeElement) ? document.activeElement.dataset["row"] : undefined;
    this.#poses.replaceChildren(
      ...(asButtons
        ? others.map(({ key, text }) =>
            el("button", { text, attributes: { type: "button", "data-row": key, "aria-pressed": String(key === chosen) }, on: { click: () => this.bench.set({ row: key }) } }),
          )
        : []),
    );
    if (focused !== undefined) this.#poses.querySelector<HTMLElement>(`[data-row="${CSS.escape(focused)}"]`)?.focus();
  }

  #toggle(): void {
    this.bench.set({ row: chosenPair(this.bench.get()) === this.#entry.key ? undefined : rowKey(this.#entry.lead) });
    // the positions that have come up under it
    this.element.scrollIntoView({ block: "nearest" });
  }
}

/** Rows keep their places while a part is held, and go where they belong when it is put down. */
export function isHolding({ placing }: Bench): boolean {
  return placing !== undefined;
}

/** Pair of the row that is looked at. */
function chosenPair({ row }: Bench): string | undefined {
  return row?.split("|", 2).join("|");
}

function rowKeyShown(state: Bench): string | undefined {
  const list = shownList(state);
  const row = list === undefined || state.row === undefined ? undefined : rowOf(list, state.row);
  return row === undefined ? undefined : rowKey(row);
}

/** Entries as a list of buttons; the same on the list and on a part's card. */
export class PairList {
  readonly element: HTMLUListElement;
  #lines = new Map<string, EntryLine>();
  /** What it is a list of, and of which angles. */
  #subject = "";
  /** The rows as they stood when the part that is held was taken up, and what has come up since. */
  #stood: ReadonlySet<string> | undefined;
  #order = "";

  constructor(
    private readonly bench: BenchStore,
    label: string,
    /** Given where a way out of a failing pair may be looked for. */
    private readonly ways?: WaysOut,
  ) {
    this.element = el("ul", { class: "pairs", attributes: { "aria-label": label } });
  }

  /** Rows that are shown. */
  get size(): number {
    return this.#lines.size;
  }

  /**
   * Shows some of the entries. While a part is held rows that are clear keep their order and none goes, though another has come
   * nearer: what has come nearer stands under them. `subject` says what they are a list of.
   */
  render(entries: readonly Entry[], shown: readonly Entry[], subject: string, state: Bench): void {
    const before = this.#lines;
    const now = `${subject} ${state.keyDeg === undefined ? "whole swing" : "one angle"}`;
    if (state.placing === undefined) this.#stood = undefined;
    else this.#stood = new Set([...(now === this.#subject ? (this.#stood ?? before.keys()) : []), ...shown.map(({ key }) => key)]);
    this.#subject = now;
    const wanted = this.#stood === undefined ? shown : asTheyStood(entries, this.#stood);
    this.#lines = new Map(wanted.map((entry) => [entry.key, before.get(entry.key) ?? new EntryLine(entry, this.bench, this.ways)]));
    for (const entry of wanted) this.#lines.get(entry.key)?.render(entry, state);
    const order = wanted.map(({ key }) => key).join(" ");
    if (order === this.#order) return;
    this.#order = order;
    const focused = document.activeElement instanceof HTMLElement && this.element.contains(document.activeElement) ? document.activeElement : undefined;
    // only what has another neighbour is moved: every row that is touched is laid out anew
    for (const [key, { element }] of before) if (!this.#lines.has(key)) element.remove();
    let after: Element | null = null;
    for (const { element } of this.#lines.values()) {
      const next: Element | null = after === null ? this.element.firstElementChild : after.nextElementSibling;
      if (next !== element) this.element.insertBefore(element, next);
      after = element;
    }
    if (focused?.isConnected === true && document.activeElement !== focused) focused.focus({ preventScroll: true });
  }
}

/**
 * What fails first, as ever; what does not stays where it stood: while a part is moved numbers change all the time, and rows
 * that change places under the eye cannot be read.
 */
function asTheyStood(entries: readonly Entry[], stood: ReadonlySet<string>): readonly Entry[] {
  const kept = entries.filter(({ key }) => stood.has(key));
  const clear = new Map(kept.filter((entry) => !isFailing(entry)).map((entry) => [entry.key, entry]));
  return [...kept.filter(isFailing), ...[...stood].flatMap((key) => clear.get(key) ?? [])];
}

export class ClearancePanel {
  #all = false;
  readonly #pairs: PairList;
  readonly #more = el("button", { class: "plain", attributes: { type: "button" } });
  /** Pairs that failed when the list was drawn last. */
  #failing: ReadonlySet<string> = new Set();

  constructor(
    private readonly bench: BenchStore,
    ways: WaysOut,
    private readonly list: HTMLElement,
    private readonly verdictLine: HTMLElement,
  ) {
    this.#pairs = new PairList(bench, "Clearances, those that fail first", ways);
    this.#more.addEventListener("click", () => {
      this.#all = !this.#all;
      this.render(this.bench.get(), undefined);
    });
    this.list.replaceChildren(this.#pairs.element, this.#more);
    this.#more.hidden = true;
  }

  render(state: Bench, before: Bench | undefined): void {
    const list = shownList(state);
    if (list === undefined) return;
    if (before !== undefined && shownList(before) === list && before.row === state.row && before.search === state.search && before.work === state.work && before.violations === state.violations && before.unread === state.unread && before.unit === state.unit && before.parts === state.parts && (before.keyDeg === undefined) === (state.keyDeg === undefined) && isHolding(before) === isHolding(state)) return;
    const entries = entriesOf(list);
    const failed = entries.filter(isFailing).length;
    setText(this.verdictLine, verdictText(state, entries));
    this.verdictLine.classList.toggle("fails", failed > 0);
    const first = matchMedia("(min-width: 960px)").matches ? FIRST_PAIRS : FIRST_PAIRS_NARROW;
    const shown = this.#all ? [...entries] : entries.slice(0, Math.max(first, failed));
    const chosen = entries.find(({ key }) => key === chosenPair(state));
    if (chosen !== undefined && !shown.includes(chosen)) shown.push(chosen);
    this.#pairs.render(entries, shown, this.#all ? "all" : "nearest", state);
    this.#bringUp(entries);
    const others = entries.length - this.#pairs.size;
    setHidden(this.#more, others === 0 && !this.#all);
    setText(this.#more, this.#all ? "Show the nearest only" : `Show the other ${others}`);
  }

  /** A pair that begins to fail stands at the top: the list goes there, unless somebody is at work in it. */
  #bringUp(entries: readonly Entry[]): void {
    const failing = new Set(entries.filter(isFailing).map(({ key }) => key));
    const isNew = [...failing].some((key) => !this.#failing.has(key));
    this.#failing = failing;
    if (isNew && this.list.scrollTop > 0 && !this.list.contains(document.activeElement)) this.list.scrollTop = 0;
  }
}

function verdictText(state: Bench, entries: readonly Entry[]): string {
  const rows = entries.flatMap((entry) => entry.rows);
  const failedRows = rows.filter((row) => !row.ok).length;
  const failed = entries.filter(isFailing).length;
  const at = state.keyDeg === undefined || state.atAngle === undefined ? undefined : `With the key at ${angleText(state.atAngle.deg)}: `;
  const text =
    failed === 0
      ? `all ${entries.length} pairs are within their limits`
      : `${failed} of ${entries.length} pairs ${failed === 1 ? "is" : "are"} not within ${failed === 1 ? "its" : "their"} limits`;
  // at one angle every pair has one row
  if (at !== undefined) return at + text;
  const counted = failed === 0 ? `${rows.length} rows` : `${failedRows} of ${rows.length} rows`;
  return `${text.charAt(0).toUpperCase()}${text.slice(1)} over the whole swing (${counted})`;
}

/** What fails, one row for each pair: the worst of it. */
export function failingRows(state: Bench): Clearance[] {
  const list = shownList(state);
  return list === undefined ? [] : entriesOf(list).flatMap(({ lead }) => (lead.ok ? [] : [lead]));
}
