// The second bore, changed by hand: in the picture, in the table, as CSV, or faired.
import { type BoreRow, csvOf, linesOf } from "../../state/bore.ts";
import { forFileName, LARGEST_JOB_BYTES } from "../../state/job-file.ts";
import { type LengthUnit, lengthText, readNumber } from "../../state/lengths.ts";
import type { BoreRead, Neck, Violation } from "../../worker/bore-talk.ts";
import { el, setText } from "../../dom.ts";
import { save } from "../exports.ts";
import { filePicker } from "../file-picker.ts";
import type { Chosen } from "./chosen.ts";
import { BoresDrawn } from "./drawn.ts";
import { button, part } from "../room-parts.ts";
import { BoreTable, textFaults } from "./table.ts";

/** Bumps that are left when a bore is faired, mm of diameter, unless the maker says otherwise. */
export const BUMP_MM = 0.05;

/** What the room does for it. */
export interface EditingWork {
  /** Rows while a cell is typed in or a point moves; `going` names it. */
  follow: (rows: readonly BoreRow[], going: string | undefined) => void;
  /** The hand rests. */
  settle: () => void;
  /** Another bore as one whole change; undefined for that of its own job. */
  put: (rows: readonly BoreRow[] | undefined) => void;
  back: () => void;
  /** What is asked may have changed. */
  want: () => void;
  read: (neck: Neck, csv: string) => Promise<BoreRead | undefined>;
  fair: (neck: Neck, csv: string, bumpMm: number) => Promise<BoreRead | undefined>;
}

export class Editing {
  readonly elements: readonly HTMLElement[];
  readonly #drawn = new BoresDrawn((index, diameter_mm) => this.#movePoint(index, diameter_mm), () => this.work.settle());
  readonly #table = new BoreTable((rows, typing) => this.#typed(rows, typing), () => this.work.want());
  readonly #back = el("button", { text: "Take the last change back", attributes: { type: "button", "data-do": "back" }, on: { click: () => this.work.back() } });
  readonly #asItWas = el("button", { text: "As it came", attributes: { type: "button", "data-do": "as-it-came" }, on: { click: () => this.work.put(undefined) } });
  readonly #csv = el("textarea", { attributes: { id: "bore-csv", rows: 6, spellcheck: "false", autocomplete: "off" } });
  readonly #csvFaults = el("div", { class: "group", attributes: { role: "alert" } });
  readonly #bump = el("input", { attributes: { type: "text", inputmode: "decimal", id: "bore-bump", autocomplete: "off", value: BUMP_MM } });
  readonly #done = el("p", { class: "says", attributes: { role: "status", id: "bore-table-done" } });
  readonly #csvPicker = filePicker((file) => void this.#openCsv(file), ".csv,.txt,text/csv,text/plain");
  #unit: LengthUnit = "mm";

  constructor(
    private readonly chosen: Chosen,
    private readonly work: EditingWork,
  ) {
    this.elements = [
      part("bore-of-drawn", "Both bores", this.#drawn.element),
      part(
        "bore-of-table",
        "The second bore as a table",
        el("div", { class: "actions" }, this.#back, this.#asItWas),
        this.#table.element,
        el("h4", { text: "Fair it" }),
        el("p", { class: "field-help", text: "The nearest bore that never narrows, and leaves the straight line between its neighbours nowhere by more than this." }),
        el("p", { class: "turn-line" }, el("label", { text: "Bumps left, of diameter", attributes: { for: "bore-bump" } }), this.#bump, button("Fair it", () => void this.#fair())),
        el("h4", { text: "As CSV" }),
        el("div", { class: "actions" }, button("Save as CSV", () => this.#saveCsv()), button("Open a CSV", () => this.#csvPicker.click()), this.#csvPicker),
        el(
          "details",
          { class: "strain-table" },
          el("summary", { text: "Paste it" }),
          el("p", { class: "field-help" }, el("label", { text: "Station and diameter, one place a line; millimetres, or inches under the names station_in,diameter_in", attributes: { for: "bore-csv" } })),
          this.#csv,
          button("Take these rows", () => void this.#takeCsv(this.#csv.value, "The rows")),
        ),
        this.#csvFaults,
        this.#done,
      ),
    ];
  }

  get hasUnread(): boolean {
    return this.#table.hasUnread;
  }

  render(first: readonly BoreRow[], unit: LengthUnit): void {
    this.#unit = unit;
    const necks = this.chosen.necks();
    const rows = this.chosen.rows();
    this.#table.render(rows, first, unit);
    if (necks !== undefined && first.length > 0) this.#drawn.render({ first: { name: necks.a.name, profile: first }, second: { name: necks.b.name, rows } }, unit);
    this.#back.disabled = !this.chosen.canGoBack;
    this.#asItWas.disabled = this.chosen.now.rows === undefined;
  }

  /** Another bore stands in the table. */
  forget(): void {
    this.#table.forget();
  }

  faults(violations: readonly Violation[]): void {
    this.#table.faults(violations);
  }

  says(text: string): void {
    setText(this.#done, text);
  }

  /** The way back is at its end: the hand goes on in the table. */
  focus(): void {
    if (this.#back.disabled) this.#table.element.querySelector<HTMLElement>("input")?.focus();
  }

  #typed(rows: readonly BoreRow[], typing: string | undefined): void {
    if (typing === undefined && rows.length === this.chosen.rows().length) return this.work.settle();
    this.work.follow(rows, typing);
  }

  #movePoint(index: number, diameter_mm: number): void {
    const rows = this.chosen.rows();
    if (rows[index]?.diameter_mm === diameter_mm) return;
    this.work.follow(
      rows.map((row, at) => (at === index ? { ...row, diameter_mm } : row)),
      `point ${index}`,
    );
  }

  /** The second bore as it stands: an answer that was asked for another one is not laid on it. */
  #stand(): string {
    return JSON.stringify([this.chosen.necks()?.b.job, this.chosen.rows()]);
  }

  async #fair(): Promise<void> {
    const limit = readNumber(this.#bump.value, this.#unit);
    const necks = this.chosen.necks();
    const wrong = limit === undefined || limit < 0;
    if (wrong) this.#bump.setAttribute("aria-invalid", "true");
    else this.#bump.removeAttribute("aria-invalid");
    if (limit === undefined || wrong) return this.says(`“${this.#bump.value}” is no length: nothing was changed.`);
    if (necks === undefined) return;
    const [rows, stand] = [this.chosen.rows(), this.#stand()];
    const read = await this.work.fair(necks.b, linesOf(rows), limit);
    if (read === undefined) return;
    if (stand !== this.#stand()) return this.says("The bore was changed meanwhile: it was not faired.");
    if (!read.ok) {
      const own = read.violations.find(({ path }) => path === "limit_mm");
      return this.says(own === undefined ? "What is wrong in the rows must be put right first: nothing was changed." : `${own.why} Nothing was changed.`);
    }
    const faired = read.rows.map(({ station_mm, diameter_mm }) => ({ station_mm, diameter_mm: Number(diameter_mm.toFixed(4)) }));
    const most = Math.max(0, ...faired.map(({ diameter_mm }, index) => Math.abs(diameter_mm - (rows[index]?.diameter_mm ?? diameter_mm))));
    if (most < 0.0005) return this.says("The bore is fair as it is: nothing was changed.");
    this.work.put(faired);
    const bumps = read.bumps.length === 0 ? "No bump was beyond the limit" : `Bumps were at ${read.bumps.map(({ station_mm }) => lengthText(station_mm, this.#unit)).join(", ")} ${this.#unit}`;
    this.says(`${bumps}. No diameter moved by more than ${lengthText(most, this.#unit, 1)} ${this.#unit}.`);
  }

  #saveCsv(): void {
    const name = `${forFileName(this.chosen.necks()?.b.name ?? "") || "bore"}.csv`;
    save(new TextEncoder().encode(csvOf(this.chosen.rows())), name, "text/csv");
    this.says(`${name} is written.`);
  }

  async #openCsv(file: File): Promise<void> {
    if (file.size > LARGEST_JOB_BYTES) return this.#csvFaults.replaceChildren(el("p", { class: "fault", text: `${file.name} was not taken: it is far larger than a bore.` }));
    await this.#takeCsv(await file.text(), file.name);
  }

  async #takeCsv(csv: string, name: string): Promise<void> {
    const necks = this.chosen.necks();
    if (necks === undefined) return;
    this.says("");
    const stand = this.#stand();
    const read = await this.work.read(necks.b, csv);
    if (read === undefined) return;
    if (stand !== this.#stand()) return this.says(`The bore was changed meanwhile: ${name} ${name === "The rows" ? "were" : "was"} not taken.`);
    if (!read.ok) {
      const faults = textFaults(read.violations, this.#unit);
      this.#csvFaults.replaceChildren(el("p", { class: "fault", text: `${name} was not taken, and nothing is changed. ${faults.length === 1 ? "One thing is" : `${faults.length} things are`} wrong:` }), el("ul", { class: "bore-words" }, ...faults.map((text) => el("li", { text }))));
      return;
    }
    this.#csvFaults.replaceChildren();
    this.work.put(read.rows);
    this.says(`${name}: ${read.rows.length} rows were taken.`);
  }
}
