// The second bore as a table: a station and a diameter in each row, with what is wrong told under the row it is in.
import { type BoreRow, diameterAt, rowOfPath } from "../../state/bore.ts";
import { fieldText, type LengthUnit, lengthsIn, lengthText, plainNumber, readNumber } from "../../state/lengths.ts";
import type { Violation } from "../../worker/bore-talk.ts";
import { el, setText } from "../../dom.ts";
import { faultText } from "../parameters.ts";

type Column = keyof BoreRow;

const COLUMNS: readonly { column: Column; name: string }[] = [
  { column: "station_mm", name: "station" },
  { column: "diameter_mm", name: "diameter" },
];

interface Line {
  inputs: Record<Column, HTMLInputElement>;
  difference: HTMLElement;
  fault: HTMLElement;
  faultRow: HTMLElement;
}

export class BoreTable {
  readonly element: HTMLElement;
  readonly #body = el("tbody");
  readonly #heads = el("tr");
  readonly #whole = el("p", { class: "fault", attributes: { role: "alert", hidden: true } });
  readonly #lines: Line[] = [];
  /** Cells whose text is no number, with what is wrong; the row keeps its last number. */
  readonly #unread = new Map<string, string>();
  #rows: readonly BoreRow[] = [];
  #first: readonly BoreRow[] = [];
  #unit: LengthUnit = "mm";
  #violations: readonly Violation[] = [];

  constructor(
    /** Other rows; `typing` names the cell while it is being typed in. */
    private readonly change: (rows: readonly BoreRow[], typing: string | undefined) => void,
    /** A cell began or ceased to hold what is no number. */
    private readonly unread: () => void,
  ) {
    this.element = el("div", { class: "blanks-body" }, this.#whole, el("table", { class: "bore-table" }, el("caption", { class: "unseen", text: "The second bore" }), el("thead", {}, this.#heads), this.#body));
  }

  /** Whether a cell holds what is no number. */
  get hasUnread(): boolean {
    return this.#unread.size > 0;
  }

  render(rows: readonly BoreRow[], first: readonly BoreRow[], unit: LengthUnit): void {
    const drawn = rows.length === this.#lines.length && unit === this.#unit;
    const before = drawn && first === this.#first ? this.#rows : [];
    [this.#rows, this.#first, this.#unit] = [rows, first, unit];
    if (!drawn) this.#draw();
    this.#sync(before);
    this.#tell();
  }

  /** Another bore stands in the table: what was typed for the one before goes. */
  forget(): void {
    this.#unread.clear();
    this.#violations = [];
    this.#lines.length = 0;
  }

  faults(violations: readonly Violation[]): void {
    this.#violations = violations;
    this.#tell();
  }

  #draw(): void {
    const unit = this.#unit;
    this.#unread.clear();
    this.#heads.replaceChildren(...["Row", `Station, ${unit}`, `Diameter, ${unit}`, "To the first"].map((text, index) => el("th", { class: index === 3 ? "bore-wide" : "", text, attributes: { scope: "col" } })), el("td"));
    this.#lines.length = 0;
    this.#body.replaceChildren(...this.#rows.flatMap((_, index) => this.#line(index)));
  }

  #line(index: number): HTMLElement[] {
    const cell = ({ column, name }: (typeof COLUMNS)[number]) => {
      const key = `${index}.${column}`;
      const input = el("input", {
        attributes: { type: "text", inputmode: "decimal", autocomplete: "off", spellcheck: "false", "aria-label": `Row ${index + 1}, ${name}`, "aria-describedby": `bore-fault-${index}`, "data-cell": key },
        on: {
          input: () => {
            const value = readNumber(input.value, this.#unit);
            if (value === undefined) this.#unread.set(key, `“${input.value}” is not a number.`);
            else this.#unread.delete(key);
            this.#tell();
            if (value === undefined) this.unread();
            else this.#put(index, column, value, key);
          },
          keydown: (event) => {
            const up = event.key === "ArrowUp" ? 1 : event.key === "ArrowDown" ? -1 : 0;
            const row = this.#rows[index];
            if (up === 0 || row === undefined) return;
            event.preventDefault();
            this.#unread.delete(key);
            const step = event.shiftKey ? 0.01 : column === "station_mm" ? 1 : 0.1;
            this.#put(index, column, Number((row[column] + up * step).toFixed(4)), key);
            input.value = fieldText(this.#rows[index]?.[column] ?? 0, this.#unit);
          },
          // what was typed is one change, done when the cell is left
          change: () => this.change(this.#rows, undefined),
        },
      });
      return input;
    };
    const [station, diameter] = COLUMNS.map(cell) as [HTMLInputElement, HTMLInputElement];
    const difference = el("td", { class: "number bore-wide" });
    const button = (text: string, name: string, work: () => void) => el("button", { class: "small", text, attributes: { type: "button", "aria-label": name, title: name }, on: { click: work } });
    const fault = el("p", { class: "fault", attributes: { id: `bore-fault-${index}` } });
    const faultRow = el("tr", { attributes: { hidden: true } }, el("td", { attributes: { colspan: 5 } }, fault));
    this.#lines.push({ inputs: { station_mm: station, diameter_mm: diameter }, difference, fault, faultRow });
    const row = el(
      "tr",
      {},
      el("th", { text: String(index + 1), attributes: { scope: "row" } }),
      el("td", {}, station),
      el("td", {}, diameter),
      difference,
      el("td", { class: "bore-row-tools" }, button("+", `Put a row after row ${index + 1}`, () => this.#insert(index)), button("×", `Take out row ${index + 1}`, () => this.#remove(index))),
    );
    return [row, faultRow];
  }

  #put(index: number, column: Column, value: number, typing: string): void {
    this.#rows = this.#rows.map((row, at) => (at === index ? { ...row, [column]: value } : row));
    this.change(this.#rows, typing);
  }

  /** Half way to the next; behind the last one as far as it is from the one before. */
  #insert(index: number): void {
    const [row, next, before] = [this.#rows[index], this.#rows[index + 1], this.#rows[index - 1]];
    if (row === undefined) return;
    const middle = (column: Column) => Number((next !== undefined ? (row[column] + next[column]) / 2 : 2 * row[column] - (before?.[column] ?? 0)).toFixed(3));
    const rows = [...this.#rows.slice(0, index + 1), { station_mm: middle("station_mm"), diameter_mm: middle("diameter_mm") }, ...this.#rows.slice(index + 1)];
    this.change(rows, undefined);
    this.#lines[index + 1]?.inputs.diameter_mm.focus();
  }

  #remove(index: number): void {
    this.change(
      this.#rows.filter((_, at) => at !== index),
      undefined,
    );
    this.#lines[Math.min(index, this.#lines.length - 1)]?.inputs.diameter_mm.focus();
  }

  /** Rows that are those of before stand there already. */
  #sync(before: readonly BoreRow[]): void {
    const active = document.activeElement;
    this.#rows.forEach((row, index) => {
      const line = this.#lines[index];
      if (line === undefined || row === before[index]) return;
      for (const { column } of COLUMNS) {
        const input = line.inputs[column];
        const text = fieldText(row[column], this.#unit);
        const typed = readNumber(input.value, this.#unit);
        const same = typed !== undefined && fieldText(typed, this.#unit) === text;
        if (!this.#unread.has(`${index}.${column}`) && !(active === input && same) && input.value !== text) input.value = text;
      }
      const by = row.diameter_mm - diameterAt(this.#first, row.station_mm);
      const text = lengthText(by, this.#unit);
      setText(line.difference, this.#first.length === 0 ? "" : `${Number(text) > 0 ? "+" : ""}${text.replace("-", "−")}`);
    });
  }

  #tell(): void {
    const whole: string[] = [];
    const told = this.#lines.map((): { texts: string[]; columns: Set<Column> } => ({ texts: [], columns: new Set() }));
    for (const violation of this.#violations) {
      const index = rowOfPath(violation.path, this.#lines.length);
      const line = index === undefined ? undefined : told[index];
      const says = faultText(violation, this.#unit);
      if (line === undefined) whole.push(...textFaults([violation], this.#unit));
      else {
        const column: Column = violation.path.endsWith("station_mm") ? "station_mm" : "diameter_mm";
        line.columns.add(column);
        line.texts.push(`${column === "station_mm" ? "Station" : "Diameter"}: ${says}`);
      }
    }
    for (const [key, wrong] of this.#unread) {
      const [index, column] = key.split(".") as [string, Column];
      const line = told[Number(index)];
      line?.columns.add(column);
      line?.texts.unshift(wrong);
    }
    this.#lines.forEach(({ inputs, fault, faultRow }, index) => {
      const { texts, columns } = told[index] ?? { texts: [], columns: new Set() };
      setText(fault, texts.join(" "));
      faultRow.hidden = texts.length === 0;
      for (const { column } of COLUMNS) {
        if (columns.has(column)) inputs[column].setAttribute("aria-invalid", "true");
        else inputs[column].removeAttribute("aria-invalid");
      }
    });
    setText(this.#whole, whole.join(" "));
    this.#whole.hidden = whole.length === 0;
  }
}

/** What is wrong with a text that was to be a bore, a sentence for each row. */
export function textFaults(violations: readonly Violation[], unit: LengthUnit): string[] {
  return violations.map((violation) => {
    const { path, value } = violation;
    const row = /^rows\[(\d+)\]\.?(\w*)/.exec(path);
    const column = (name: string | undefined) => (name === "station_mm" ? "station" : name === "diameter_mm" ? "diameter" : "");
    const where = row !== null ? `Row ${Number(row[1]) + 1}, ${column(row[2])}` : path === "rows" ? "The table" : path.replace(/\.station_mm$/, ", station").replace(/^\w/, (letter) => letter.toUpperCase());
    const given = typeof value === "number" ? ` (${lengthsIn(`${plainNumber(value)} mm`, unit)})` : typeof value === "string" ? ` (“${value}”)` : "";
    return `${where}${path === "rows" ? "" : given}: ${faultText(violation, unit)}`;
  });
}
