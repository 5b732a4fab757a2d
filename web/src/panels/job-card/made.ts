// As made: what was measured on the finished neck, how far it is from the job, what that does to its clearances, and the record.
import { isObject, type Json, type JsonObject, pathOf, pathText, valueAt, withValue } from "../../state/json.ts";
import { lengthsIn, type LengthUnit } from "../../state/lengths.ts";
import { inWords } from "../../state/schema.ts";
import type { NeckRecord } from "../../worker/card-talk.ts";
import { el, setText } from "../../dom.ts";
import { Entries } from "../entries.ts";
import { numberList, numberText, shortText, sources, table } from "./numbers.ts";

/** Numbers of a job that nobody measures on a neck. */
const NOT_MEASURED = /(^|\.)(version|clearance|limits)|^order\b/;

/** Every number of a job by its path. */
function numberPaths(job: Json, at: (string | number)[] = []): string[] {
  if (typeof job === "number") return NOT_MEASURED.test(pathText(at)) ? [] : [pathText(at)];
  if (Array.isArray(job)) return job.flatMap((item, index) => numberPaths(item, [...at, index]));
  return isObject(job) ? Object.entries(job).flatMap(([key, item]) => numberPaths(item, [...at, key])) : [];
}

function pathName(path: string): string {
  return pathOf(path)
    .map((step) => (typeof step === "number" ? `row ${step + 1}` : inWords(step).toLowerCase()))
    .join(", ")
    .replace(/^./, (first) => first.toUpperCase());
}

export class MadePanel {
  readonly element = el("section", { class: "sheet made-room", attributes: { "aria-labelledby": "made-title" } });
  readonly #entries: Entries;
  readonly #rows = el("div", { class: "made-rows" });
  readonly #rest = el("div", { class: "card-fields" });
  readonly #words = el("div", { class: "made-words" });
  readonly #found = el("div", { class: "made-found", attributes: { "aria-live": "polite" } });
  readonly #save = el("button", { text: "Save the record", attributes: { type: "button", disabled: true }, on: { click: () => this.hands.save() } });
  readonly #says = el("p", { class: "says", attributes: { role: "status" } });
  #made: JsonObject = {};
  #job: Json = {};
  #drawnOf: unknown[] = [];

  constructor(
    unit: () => LengthUnit,
    private readonly hands: { change(made: JsonObject): void; save(): void; open(): void },
  ) {
    this.#entries = new Entries(unit);
    this.element.append(
      el("h3", { text: "As made", attributes: { id: "made-title" } }),
      el("p", { class: "says", text: "What was measured on the finished neck. It is put beside the job, the clearances are checked again with it, and the record keeps it with the job, so that the neck can be made again." }),
      this.#rows,
      this.#rest,
      this.#words,
      el("div", { class: "actions" }, this.#save, el("button", { text: "Open a record", attributes: { type: "button" }, on: { click: () => this.hands.open() } })),
      this.#says,
      this.#found,
    );
  }

  render(job: Json, made: JsonObject): void {
    this.#made = made;
    // what a value is a measure of decides its unit
    const drawnOf = [job, this.#measured().map((row) => String(valueAt(row, ["path"]))).join(" ")];
    if (drawnOf.some((item, index) => item !== this.#drawnOf[index])) {
      this.#drawnOf = drawnOf;
      this.#job = job;
      this.#draw();
    }
    this.#entries.sync(this.#told);
  }

  #told: ReadonlyMap<string, string> = new Map();

  /** Tells faults by path; gives back which of them found no field. */
  faults(told: ReadonlyMap<string, string>): string[] {
    this.#told = told;
    const places = this.#entries.sync(told);
    return [...told.keys()].filter((path) => !places.has(path));
  }

  say(text: string): void {
    setText(this.#says, text);
  }

  /** What came of the measured values; nothing while there are none, or while they are wrong. */
  show(record: NeckRecord | undefined, unit: LengthUnit): void {
    this.#save.disabled = record === undefined;
    this.#found.replaceChildren(...(record === undefined ? [] : found(record, unit)));
  }

  #measured(): readonly Json[] {
    const rows = valueAt(this.#made, ["measured"]);
    return Array.isArray(rows) ? rows : [];
  }

  #put(path: (string | number)[], value: Json | undefined): void {
    this.#made = withValue(this.#made, path, value) as JsonObject;
    this.hands.change(this.#made);
  }

  #draw(): void {
    this.#entries.clear();
    const rows = this.#measured();
    const paths = numberPaths(this.#job);
    this.#rows.replaceChildren(
      el("ol", { class: "made-list" }, ...rows.map((_, index) => this.#row(index, paths))),
      el("div", { class: "actions" }, el("button", { text: "Add a measured value", attributes: { type: "button", "data-key": "add-measured" }, on: { click: () => this.#add(paths) } })),
    );
    const text = (key: string, label: string) => this.#entries.text({ path: key, label, read: () => String(valueAt(this.#made, [key]) ?? ""), write: (value) => this.#put([key], value === "" ? undefined : value), usual: () => "" });
    const number = (key: string, label: string, help: string, kind: "mm" | "number") =>
      this.#entries.number({ path: key, label, help, kind, usual: () => undefined, read: () => entryOf(valueAt(this.#made, [key])), write: (value) => this.#put([key], value) });
    this.#rest.replaceChildren(
      text("date", "Made on"),
      number("tenon_as_fitted_mm", "Tenon as fitted, outside", "Outside diameter of the tenon as it was fitted.", "mm"),
      number("mass_g", "It weighs, g", "What the finished neck weighs, in grams.", "number"),
    );
    this.#words.replaceChildren(this.#note("play_test", "How it plays"), this.#note("next_time", "What to change next time"));
  }

  #note(key: string, label: string): HTMLElement {
    const area = el("textarea", { attributes: { id: `made-${key}`, rows: 3, maxlength: 8000, "data-path": key }, on: { input: () => this.#put([key], area.value === "" ? undefined : area.value) } });
    area.value = String(valueAt(this.#made, [key]) ?? "");
    return el("div", {}, el("label", { text: label, attributes: { for: area.id } }), area, this.#entries.slot(key, area));
  }

  #row(index: number, paths: readonly string[]): HTMLElement {
    const at = (field: string) => ["measured", index, field];
    const path = () => String(valueAt(this.#made, at("path")) ?? "");
    const offered = paths.includes(path()) ? paths : [path(), ...paths];
    return el(
      "li",
      {},
      this.#entries.choice({
        path: `measured[${index}].path`,
        label: "Measured",
        help: `Measured value ${index + 1}: what it is a measure of.`,
        options: offered.map((value) => ({ value, label: pathName(value), help: "" })),
        read: path,
        write: (value) => this.#measure(index, value),
      }),
      this.#value(index, path()),
      el("button", { text: "Take away", attributes: { type: "button", "aria-label": `Take away measured value ${index + 1}` }, on: { click: () => this.#takeAway(index) } }),
    );
  }

  /** Another measure begins at what the job asks for: the number before was one of something else. */
  #measure(index: number, path: string): void {
    this.#put(["measured", index], { path, measured: this.#asked(path) });
    this.element.querySelector<HTMLElement>(`[data-path="measured[${index}].path"]`)?.focus();
  }

  #value(index: number, path: string): HTMLElement {
    const at = ["measured", index, "measured"];
    return this.#entries.number({
      path: `measured[${index}].measured`,
      label: path.endsWith("_deg") ? "Found, °" : "Found",
      help: `Measured value ${index + 1}: what was found.`,
      kind: path.endsWith("_mm") ? "mm" : "number",
      read: () => entryOf(valueAt(this.#made, at)),
      write: (value) => this.#put(at, value ?? ""),
    });
  }

  #asked(path: string): number {
    const asked = valueAt(this.#job, pathOf(path));
    return typeof asked === "number" ? asked : 0;
  }

  #add(paths: readonly string[]): void {
    const taken = new Set(this.#measured().map((row) => valueAt(row, ["path"])));
    const path = ["vent.station_mm", "brace.from_station_mm", ...paths].find((one) => paths.includes(one) && !taken.has(one));
    if (path === undefined) return;
    const rows = this.#measured();
    this.#put(["measured"], [...rows, { path, measured: this.#asked(path) }]);
    this.element.querySelector<HTMLElement>(`[data-path="measured[${rows.length}].path"]`)?.focus();
  }

  #takeAway(index: number): void {
    this.#put(["measured"], this.#measured().filter((_, row) => row !== index));
    this.element.querySelector<HTMLElement>('[data-key="add-measured"]')?.focus();
  }
}

function found(record: NeckRecord, unit: LengthUnit): HTMLElement[] {
  return [
    record.differences.length === 0
      ? el("p", { class: "says", text: "No measured values yet." })
      : table("Measured beside the job", ["What", "The job", "Measured", "Difference"], record.differences.map((row) => ({ cells: [pathName(row.path), shortText(row.asked, unit), numberText(row.measured, unit), numberText(row.difference, unit)] }))),
    ...record.not_rechecked.map((text) => el("p", { class: "fault", text: `The clearances were not checked again: ${lengthsIn(text, unit)}` })),
    numberList([["Clearances that fail, by the job", record.failed_by_job], ["Clearances that fail, as made", record.failed_as_made]], unit),
    ...(record.tight_rows.length === 0
      ? []
      : [
          table(
            "Nearest, as made",
            ["Between", "Gap", "Needs", "Verdict"],
            record.tight_rows.map((row) => ({ cells: [`${row.a} and ${row.b}`.replaceAll("_", " "), shortText(row.gap, unit), shortText(row.needs, unit), row.ok ? "keeps" : "fails"], class: row.ok ? undefined : "warns" })),
          ),
        ]),
    sources(record.differences),
  ];
}

function entryOf(value: Json | undefined): number | string | undefined {
  return typeof value === "number" || typeof value === "string" ? value : undefined;
}
