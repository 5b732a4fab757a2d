// The fields of the sheet: what metal is at hand, what is wanted of it, and how blanks may lie. Drawn from the schema of the
// sheet file; what is wrong with a field is told under it.
import { isObject, type Json, type JsonObject, type Path, pathText, valueAt, withValue } from "../../state/json.ts";
import { fieldText, type LengthUnit, limitText, plainNumber, readNumber } from "../../state/lengths.ts";
import { type Field, type NumberField, planOf } from "../../state/schema.ts";
import { cornersText, readCorners, readStations, type Stock, stationsText, stockOf, withName, withStock } from "../../state/sheet.ts";
import type { Violation } from "../../worker/blanks-talk.ts";
import { el, setText } from "../../dom.ts";
import { faultText } from "../parameters.ts";

const STOCKS: readonly { stock: Stock; name: string }[] = [
  { stock: "sheet", name: "Sheet" },
  { stock: "strip", name: "Strip" },
  { stock: "offcut", name: "Off-cut" },
];

/** How choices are called here. */
const CHOICES: Readonly<Record<string, string>> = {
  most_pieces: "As many as go on one sheet",
  fewest_sheets: "All of them, on the fewest sheets",
  shortest_strip: "All of them, from the shortest strip",
  any: "At any angle",
  along_grain: "Only along the grain",
  allowed: "May be turned over",
  not_allowed: "One side of the sheet stays outside",
};

interface Entry {
  control: HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;
  fault: HTMLElement;
  /** Puts what the sheet says into the field, unless it is being typed in. */
  sync(sheet: JsonObject): void;
}

export class SheetFields {
  readonly metal = el("div", { class: "group" });
  readonly wanted = el("div", { class: "group" });
  readonly lying = el("div", { class: "group" });
  readonly leftOn = el("div", { class: "group" });
  readonly gauges = el("div", { class: "group" });
  /** Faults of no field that is shown. */
  readonly others = el("div", { attributes: { role: "alert" } });
  readonly #entries = new Map<string, Entry>();
  /** What each kind of metal held when another one was chosen. */
  readonly #before = new Map<Stock, Json>();
  /** Fields whose text cannot be read, with what is wrong. */
  readonly #unread = new Map<string, string>();
  #drawnAs = "";
  #sheet: JsonObject = {};
  #unit: LengthUnit = "mm";
  #violations: readonly Violation[] = [];

  constructor(private readonly change: (sheet: JsonObject) => void) {}

  render(schema: Json, sheet: JsonObject, unit: LengthUnit): void {
    this.#sheet = sheet;
    this.#unit = unit;
    const drawn = `${stockOf(sheet)} ${unit} ${String(valueAt(schema, ["title"]))}`;
    if (drawn !== this.#drawnAs) {
      this.#drawnAs = drawn;
      this.#unread.clear();
      this.#draw(schema);
    }
    for (const { sync } of this.#entries.values()) sync(sheet);
    this.#tell();
  }

  /** Tells what is wrong at its field; the rest, of the job on the bench, over all of them. */
  faults(violations: readonly Violation[]): void {
    this.#violations = violations;
    this.#tell();
  }

  /** Another sheet lies there: what was typed for the one before goes. */
  forget(): void {
    this.#unread.clear();
    this.#before.clear();
    this.#drawnAs = "";
  }

  #put(path: Path, value: Json): void {
    this.change(withName(withValue(this.#sheet, path, value) as JsonObject, this.#sheet));
  }

  #draw(schema: Json): void {
    this.#entries.clear();
    const stock = stockOf(this.#sheet);
    const members = (path: Path, plan: Field | undefined): HTMLElement[] =>
      plan?.kind === "group" ? plan.fields.map(({ key, field }) => this.#entry([...path, key], field)) : [];
    const metal = planOf(schema, "metal");
    const way = metal?.kind === "ways" ? metal.ways.find(({ fields }) => fields.some(({ key }) => key === { sheet: "length_mm", strip: "strip_width_mm", offcut: "border" }[stock])) : undefined;
    const plan = (key: string) => planOf(schema, key);
    const entry = (key: string, label?: string) => {
      const field = plan(key);
      return field === undefined ? undefined : this.#entry([key], field, label);
    };
    this.metal.replaceChildren(
      ...[
        entry("name", "Called"),
        this.#stocks(stock),
        ...(stock === "offcut" ? [this.#corners("border"), this.#corners("holes")] : members(["metal"], way)),
        this.#slotOf("metal"),
      ].filter((element) => element !== undefined),
    );
    const kept = (elements: (HTMLElement | undefined)[]) => elements.filter((element) => element !== undefined);
    this.wanted.replaceChildren(...kept([entry("wanted", "What is wanted"), entry("halves", "Half shells of this job")]));
    this.lying.replaceChildren(...kept([entry("spacing_mm", "Between two blanks"), entry("margin_mm", "From the edge"), entry("angles", "Blanks lie"), entry("turned_over", "Left and right")]));
    this.leftOn.replaceChildren(...members(["allowances"], plan("allowances")), this.#slotOf("allowances"));
    this.gauges.replaceChildren(this.#stations(plan("gauges_at_mm")?.help ?? ""));
  }

  #stocks(stock: Stock): HTMLElement {
    return el(
      "div",
      { class: "switch", attributes: { role: "radiogroup", "aria-label": "The metal at hand is" } },
      ...STOCKS.map(({ stock: kind, name }) =>
        el(
          "label",
          {},
          el("input", {
            attributes: { type: "radio", name: "blanks-stock", value: kind, checked: kind === stock },
            on: {
              change: () => {
                this.#before.set(stock, valueAt(this.#sheet, ["metal"]) ?? null);
                this.change(withName(withStock(this.#sheet, kind, this.#before), this.#sheet));
                this.metal.querySelector<HTMLElement>(`[name="blanks-stock"][value="${kind}"]`)?.focus();
              },
            },
          }),
          el("span", { text: name }),
        ),
      ),
    );
  }

  #entry(path: Path, plan: Field, label = plan.label): HTMLElement {
    if (plan.kind === "number") return this.#number(path, plan, label);
    if (plan.kind === "choice") return this.#choice(path, plan.options.map(({ value }) => value), label, plan.help);
    const input = el("input", { attributes: { type: "text", maxlength: plan.kind === "text" ? plan.maxLength : undefined, autocomplete: "off" }, on: { input: () => this.#put(path, input.value) } });
    return this.#framed(path, label, plan.help, "", input, "text", (sheet) => show(input, String(valueAt(sheet, path) ?? "")));
  }

  #number(path: Path, plan: NumberField, label: string): HTMLElement {
    const name = pathText(path);
    const shown = plan.unit === "mm" ? this.#unit : undefined;
    const textOf = (value: Json | undefined) => (typeof value !== "number" ? "" : shown === undefined ? plainNumber(value) : fieldText(value, shown));
    const range = plan.min === undefined || plan.max === undefined ? "" : `${[plan.min, plan.max].map((limit) => (shown === undefined ? plainNumber(limit) : limitText(limit, shown))).join(" to ")}`;
    const input = el("input", {
      attributes: { type: "text", inputmode: "decimal", autocomplete: "off", spellcheck: "false" },
      on: {
        input: () => {
          const value = readNumber(input.value, shown);
          this.#mark(name, value === undefined ? `“${input.value}” is not a number.` : undefined);
          if (value !== undefined) this.#put(path, value);
        },
        keydown: (event) => {
          const up = event.key === "ArrowUp" ? 1 : event.key === "ArrowDown" ? -1 : 0;
          const value = valueAt(this.#sheet, path);
          if (up === 0 || typeof value !== "number") return;
          event.preventDefault();
          const step = plan.whole ? 1 : (plan.max ?? 0) > 500 ? 5 : 0.5;
          const next = Number(Math.min(plan.max ?? Infinity, Math.max(plan.min ?? -Infinity, value + up * step)).toFixed(4));
          this.#mark(name, undefined);
          input.value = textOf(next);
          this.#put(path, next);
        },
      },
    });
    return this.#framed(path, label, plan.help, range, input, "number", (sheet) => {
      const typed = readNumber(input.value, shown);
      const same = typed !== undefined && textOf(typed) === textOf(valueAt(sheet, path));
      if (!this.#unread.has(name) && !(document.activeElement === input && same)) show(input, textOf(valueAt(sheet, path)));
    }, shown ?? "");
  }

  #choice(path: Path, values: readonly string[], label: string, help: string): HTMLElement {
    const strip = stockOf(this.#sheet) === "strip";
    // a strip is as long as it takes, and nothing else can be asked of it
    const allowed = values.filter((value) => path[0] !== "wanted" || (value === "shortest_strip") === strip);
    const select = el("select", { on: { change: () => this.#put(path, select.value) } }, ...allowed.map((value) => el("option", { text: CHOICES[value] ?? value, attributes: { value } })));
    return this.#framed(path, label, help, "", select, "choice", (sheet) => show(select, String(valueAt(sheet, path) ?? "")));
  }

  #corners(what: "border" | "holes"): HTMLElement {
    const unit = this.#unit;
    const path = `metal.${what}`;
    const rings = (sheet: Json): readonly Json[] => {
      const value = valueAt(sheet, ["metal", what]);
      if (what === "border") return [value ?? []];
      return Array.isArray(value) ? value.map((hole) => valueAt(hole, ["corners"]) ?? []) : [];
    };
    const input = el("textarea", {
      attributes: { rows: what === "border" ? 6 : 4, spellcheck: "false", autocomplete: "off" },
      on: {
        input: () => {
          const read = readCorners(input.value, unit);
          if ("line" in read) return this.#mark(path, `Line ${read.line}, “${read.text}”, is not two numbers.`);
          if (what === "border" && read.rings.length > 1) return this.#mark(path, "An empty line: the border is one run of corners.");
          this.#mark(path, undefined);
          this.#put(["metal", what], what === "border" ? (read.rings[0] ?? []) : read.rings.map((corners) => ({ corners })));
        },
      },
    });
    const help =
      what === "border"
        ? `Corners of its border in order, one a line: along the grain and across it, in ${unit}. It begins as the sheet that was there before: measure yours and write its corners here, or open a sheet file.`
        : "Corners of its holes, an empty line between two holes. Nothing, where there is none.";
    const label = what === "border" ? "Border" : "Holes";
    return this.#framed(["metal", what], label, help, "", input, "text", (sheet) => {
      if (document.activeElement !== input && !this.#unread.has(path)) show(input, cornersText(rings(sheet), unit));
    });
  }

  #stations(help: string): HTMLElement {
    const unit = this.#unit;
    const input = el("input", {
      attributes: { type: "text", inputmode: "decimal", autocomplete: "off", spellcheck: "false" },
      on: {
        input: () => {
          const stations = readStations(input.value, unit);
          this.#mark("gauges_at_mm", stations === undefined ? `“${input.value}” is not a row of numbers with room between them.` : undefined);
          if (stations !== undefined) this.#put(["gauges_at_mm"], stations);
        },
      },
    });
    return this.#framed(["gauges_at_mm"], "At stations", `${help} In ${unit === "in" ? "inches" : "millimetres"}, with room between two of them.`, "", input, "text", (sheet) => {
      if (document.activeElement !== input && !this.#unread.has("gauges_at_mm")) show(input, stationsText(valueAt(sheet, ["gauges_at_mm"]), unit));
    });
  }

  /** A control with its label, what it means, and the place where its fault is told. */
  #framed(path: Path, label: string, help: string, range: string, control: Entry["control"], kind: string, sync: Entry["sync"], unit = ""): HTMLElement {
    const name = pathText(path);
    const id = `blanks-${name.replace(/\W+/g, "-")}`;
    const fault = el("p", { class: "fault", attributes: { id: `${id}-fault`, hidden: true } });
    control.id = id;
    control.dataset["path"] = name;
    control.setAttribute("aria-describedby", `${id}-help ${id}-fault`);
    this.#entries.set(name, { control, fault, sync });
    return el(
      "div",
      { class: `field ${kind} sheet-field` },
      el("label", { text: label, attributes: { for: id } }),
      el("span", { class: "entry" }, control, kind === "number" ? el("span", { class: "unit", text: unit }) : undefined),
      kind === "number" ? el("span", { class: "range", text: range, attributes: { "aria-hidden": "true" } }) : undefined,
      el("p", { class: "field-help", text: help, attributes: { id: `${id}-help` } }, el("span", { class: "unseen", text: range === "" ? "" : ` From ${range}.` })),
      fault,
    );
  }

  /** Where faults of a group as a whole are told. */
  #slotOf(path: string): HTMLElement {
    const fault = el("p", { class: "fault", attributes: { hidden: true } });
    const none = el("input", { attributes: { type: "hidden" } });
    this.#entries.set(path, { control: none, fault, sync: () => {} });
    return fault;
  }

  #mark(path: string, wrong: string | undefined): void {
    if (wrong === undefined) this.#unread.delete(path);
    else this.#unread.set(path, wrong);
    this.#tell();
  }

  #tell(): void {
    const told = new Map<string, string[]>();
    const rest: string[] = [];
    for (const violation of this.#violations) {
      const of = /^orders\[(\d+)\]\.?(.*)$/.exec(violation.path);
      // what the sheet asks of the second and later orders is told at the sheet's own field
      const path = of?.[2] ?? violation.path;
      const at = of !== null && !isOfSheet(this.#sheet, path) ? undefined : this.#nearest(path);
      const who = of?.[1] === undefined ? "" : `Order ${Number(of[1]) + 1} of this sheet: `;
      const says = who + faultText(violation, this.#unit);
      if (at !== undefined) told.set(at, [...(told.get(at) ?? []), says]);
      else if (who !== "") rest.push(`${who}${path === "" ? "" : `${path}: `}${faultText(violation, this.#unit)}`);
      else rest.push(`On the bench, ${violation.path}: ${faultText(violation, this.#unit)}`);
    }
    for (const [path, wrong] of this.#unread) told.set(path, [wrong]);
    for (const [path, { control, fault }] of this.#entries) {
      const text = told.get(path)?.join(" ") ?? "";
      setText(fault, text);
      fault.hidden = text === "";
      if (text === "") control.removeAttribute("aria-invalid");
      else control.setAttribute("aria-invalid", "true");
    }
    const text = rest.join("\n");
    if (this.others.textContent !== text) this.others.replaceChildren(...rest.map((says) => el("p", { class: "fault", text: says })));
  }

  #nearest(path: string): string | undefined {
    let here = path;
    while (!this.#entries.has(here)) {
      const last = Math.max(here.lastIndexOf("."), here.lastIndexOf("["));
      if (last < 0) return undefined;
      here = here.slice(0, last);
    }
    return here;
  }
}

/** Whether a path is one of the sheet file, and not of a job. */
function isOfSheet(sheet: JsonObject, path: string): boolean {
  return isObject(sheet) && Object.hasOwn(sheet, /^[^.[]*/.exec(path)?.[0] ?? "");
}

function show(control: Entry["control"], text: string): void {
  if (control.value !== text) control.value = text;
}
