// What is asked of the card: gauges, load, fillers, hammering, paper. Every field shows its starting value until the maker says
// another; what is wrong is told at its field, in the core's words.
import { isObject, type Json, type JsonObject, type Path, pathText, valueAt, withValue } from "../../state/json.ts";
import type { LengthUnit } from "../../state/lengths.ts";
import { type Field, inWords, planOf } from "../../state/schema.ts";
import { el } from "../../dom.ts";
import { Entries } from "../entries.ts";
import { nextPlug, plugsText, readPlugs } from "./plugs.ts";

/** Names of fields whose unit does not stand behind the number by itself. */
const NAMES: Readonly<Record<string, string>> = {
  down_n: "Down, N",
  sideways_n: "To the side, N",
  beyond_cork_mm: "Before the cork end",
  thinning_percent: "Wall the hammer takes, %",
  from_station_mm: "From station",
  blows: "Blows",
  spacing_mm: "Blow to blow, where no number is given",
  blows_per_minute: "Blows in a minute",
  ladder_margin_k: "Later filler flows under earlier, K",
  metal_margin_k: "Filler flows under metal, K",
  softened_mm: "Softened beside silver solder",
  wire_mm: "Filler wire",
  gauge_off_mm: "A gauge may be off by",
  leave_mm: "Left on for fitting",
};
const FITS: Readonly<Record<string, string>> = { hand: "By hand" };
const PAPERS: Readonly<Record<string, string>> = { a4: "A4", letter: "Letter" };

/** What a reading begins with where there is none before it: the job's receiver is about that wide. */
const FIRST_READING: JsonObject = { gauge_in: 0.965, enters: true };
const STEP_IN = 0.001;
const LONGEST_LIST = 2000;
const MM_PER_INCH = 25.4;

type Typed = number | string;

export class CardFields {
  readonly element = el("div", { class: "card-asked" });
  readonly #entries: Entries;
  readonly #readings = el("div", { class: "readings" });
  #card: JsonObject = {};
  #usual: Json = {};
  #schema: Json | undefined;
  #rows = -1;
  #told: ReadonlyMap<string, string> = new Map();

  constructor(
    unit: () => LengthUnit,
    private readonly change: (card: JsonObject) => void,
  ) {
    this.#entries = new Entries(unit);
  }

  render(schema: Json, usual: Json, card: JsonObject): void {
    this.#card = card;
    const rows = this.#readingRows().length;
    if (schema !== this.#schema || rows !== this.#rows) {
      [this.#schema, this.#usual, this.#rows] = [schema, usual, rows];
      this.#draw();
    }
    this.#entries.sync(this.#told);
  }

  /** Tells faults by path; gives back which of them found no field. */
  faults(told: ReadonlyMap<string, string>): string[] {
    this.#told = told;
    const places = this.#entries.sync(told);
    return [...told.keys()].filter((path) => !places.has(path));
  }

  focus(path: string): boolean {
    return this.#entries.focus(path);
  }

  /** Brings the fields to another unit. */
  sync(): void {
    this.#entries.sync(this.#told);
  }

  #readingRows(): readonly Json[] {
    const rows = valueAt(this.#card, ["gauge", "readings"]);
    return Array.isArray(rows) ? rows : [];
  }

  #value(path: Path): Json | undefined {
    return valueAt(this.#card, path) ?? valueAt(this.#usual, path);
  }

  #put(path: Path, value: Json | undefined): void {
    this.#card = withValue(this.#card, path, value) as JsonObject;
    this.change(this.#card);
  }

  #draw(): void {
    this.#entries.clear();
    const part = (id: string, title: string, ...children: (HTMLElement | undefined)[]) =>
      el("section", { class: "sheet", attributes: { "aria-labelledby": `job-card-${id}` } }, el("h3", { text: title, attributes: { id: `job-card-${id}` } }), ...children);
    const fields = (section: string, ...left: string[]) => el("div", { class: "card-fields" }, ...this.#group(section).filter(({ key }) => !left.includes(key)).map(({ key, field }) => this.#field([section, key], field)));
    this.element.replaceChildren(
      part("gauge", "Gauges in the receiver", el("p", { class: "says", text: "Which plug enters, clamp loose, and which does not: one step apart is enough. At several depths and angles it shows taper and roundness." }), this.#plugs(), this.#readings, fields("gauge", "readings", "plugs_in")),
      part("load", "A hand's load", el("p", { class: "says", text: "Starting values are a guess: nobody has measured it." }), fields("load")),
      part("heat", "Fillers, joint by joint", this.#joints(), this.#cadmium(), el("details", { class: "card-more" }, el("summary", { text: "Margins, and filler wire" }), fields("heat", "joints", "confirm_cadmium"))),
      part("hammering", "Hammering", fields("hammering")),
      part("paper", "Paper of the card", el("div", { class: "card-fields" }, this.#paper())),
    );
    this.#drawReadings();
  }

  #group(section: string): { key: string; field: Field }[] {
    const plan = this.#schema === undefined ? undefined : planOf(this.#schema, section);
    const group = plan?.kind === "optional" ? plan.inner : plan;
    return group?.kind === "group" ? group.fields : [];
  }

  #field(path: Path, plan: Field): HTMLElement {
    const key = String(path.at(-1));
    const told = { path: pathText(path), label: NAMES[key] ?? inWords(key), help: plan.help };
    if (plan.kind === "choice") {
      return this.#entries.choice({ ...told, options: plan.options.map((option) => ({ ...option, label: FITS[option.value] ?? option.value })), read: () => String(this.#value(path) ?? ""), write: (value) => this.#put(path, value) });
    }
    const inner = plan.kind === "optional" ? plan.inner : plan;
    const isLength = key.endsWith("_mm");
    const range = inner.kind === "number" && inner.min !== undefined && inner.max !== undefined ? { min: inner.min, max: inner.max } : undefined;
    const mayBeNone = plan.kind === "optional";
    return this.#entries.number({
      ...told,
      kind: isLength ? "mm" : "number",
      range,
      read: () => typed(this.#value(path)),
      write: (value) => this.#put(path, mayBeNone && (value === undefined || value === "") ? null : (value ?? undefined)),
    });
  }

  #paper(): HTMLElement {
    const plan = this.#schema === undefined ? undefined : planOf(this.#schema, "paper");
    const options = plan?.kind === "choice" ? plan.options.map((option) => ({ ...option, label: PAPERS[option.value] ?? option.label })) : [];
    return this.#entries.choice({ path: "paper", label: "Paper", help: "Paper the card is printed on.", options, read: () => String(this.#value(["paper"]) ?? "a4"), write: (value) => this.#put(["paper"], value) });
  }

  #joints(): HTMLElement {
    const joints = this.#group("heat").find(({ key }) => key === "joints")?.field;
    const rows = joints?.kind === "group" ? joints.fields : [];
    return el(
      "ul",
      { class: "card-joints" },
      ...rows.map(({ key, field }) => {
        const name = inWords(key);
        const inside = field.kind === "group" ? field.fields : [];
        const filler = inside.find((one) => one.key === "filler")?.field;
        const path: Path = ["heat", "joints", key];
        /** A joint is written whole: it has no half of a starting value. */
        const put = (change: JsonObject) => {
          const { filler: standing, heat } = Object.fromEntries(["filler", "heat"].map((one) => [one, this.#value([...path, one]) ?? null]));
          this.#put(path, { filler: standing ?? null, heat: heat ?? null, ...change });
        };
        const told = (one: string) => ({ path: pathText([...path, one]), unseen: true });
        return el(
          "li",
          {},
          el("span", { class: "joint-name", text: name }),
          this.#entries.choice({
            ...told("filler"),
            label: `${name}: filler`,
            // what a filler holds must be read where it is chosen
            options: filler?.kind === "choice" ? filler.options.map(({ value, help }) => ({ value, help, label: `${value} · ${help.replace(/\.$/, "")}` })) : [],
            read: () => String(this.#value([...path, "filler"]) ?? ""),
            write: (value) => put({ filler: value }),
          }),
          el("span", { class: "joint-heat", text: "heat", attributes: { "aria-hidden": "true" } }),
          this.#entries.number({ ...told("heat"), label: `${name}: number of its heat`, kind: "number", read: () => typed(this.#value([...path, "heat"])), write: (value) => put({ heat: value ?? "" }) }),
        );
      }),
    );
  }

  #plugs(): HTMLElement {
    const path: Path = ["gauge", "plugs_in"];
    return this.#entries.text({
      path: pathText(path),
      label: "Plug gauges of the shop, inch",
      help: "Sizes, and runs of thousandths, as in 0.950-0.980, 0.985; empty of a set in steps of 0.001 in.",
      longest: LONGEST_LIST,
      read: () => plugsText(this.#value(path)),
      write: (words) => this.#put(path, readPlugs(words)),
      usual: () => "every thousandth",
    });
  }

  #cadmium(): HTMLElement {
    const tick = el("input", { attributes: { type: "checkbox", checked: this.#value(["heat", "confirm_cadmium"]) === true, "data-path": "heat.confirm_cadmium" }, on: { change: () => this.#put(["heat", "confirm_cadmium"], tick.checked) } });
    return el("div", {}, el("label", { class: "tick" }, tick, el("span", { text: "Fillers with cadmium are meant: overheated, they give fume that can kill" })), this.#entries.slot("heat.confirm_cadmium", tick));
  }

  #drawReadings(): void {
    const rows = this.#readingRows();
    const button = (text: string, label: string, work: () => void, key?: string) => el("button", { text, attributes: { type: "button", "aria-label": label, "data-key": key }, on: { click: work } });
    this.#readings.replaceChildren(
      rows.length === 0 ? el("p", { class: "says", text: "Nothing was gauged yet: the tenon is worked from the job's receiver." }) : el("ol", { class: "reading-list" }, ...rows.map((_, index) => this.#reading(index, button))),
      el("div", { class: "actions" }, button(rows.length === 0 ? "Add a reading" : "Add the next step", rows.length === 0 ? "Add a reading" : "Add the next step of the gauges", () => this.#add(), "add-reading")),
    );
  }

  #reading(index: number, button: (text: string, label: string, work: () => void) => HTMLElement): HTMLElement {
    const path: Path = ["gauge", "readings", index];
    const inInches = valueAt(this.#card, [...path, "gauge_mm"]) === undefined || valueAt(this.#card, [...path, "gauge_mm"]) === null;
    const size = inInches ? "gauge_in" : "gauge_mm";
    const number = (field: string, label: string, help: string) =>
      this.#entries.number({
        path: pathText([...path, field]),
        label,
        help,
        kind: "number",
        usual: () => undefined,
        read: () => typed(valueAt(this.#card, [...path, field])),
        write: (value) => this.#put([...path, field], value),
      });
    const which = `Reading ${index + 1}`;
    const unit = this.#entries.choice({
      path: `${pathText(path)}.unit`,
      label: `${which}: size in`,
      unseen: true,
      options: [{ value: "gauge_in", label: "inch", help: "" }, { value: "gauge_mm", label: "mm", help: "" }],
      read: () => size,
      write: (field) => this.#turn(index, field),
    });
    const head = el("span", { class: "reading-head", text: which });
    const rowFault = this.#entries.slot(pathText(path), head);
    return el(
      "li",
      {},
      head,
      el("div", { class: "reading-size" }, number(size, "Gauge", `${which}: size of the gauge.`), unit),
      this.#entries.choice({
        path: `${pathText(path)}.enters`,
        label: "It",
        help: `${which}: whether the gauge enters.`,
        options: [{ value: "true", label: "enters", help: "" }, { value: "false", label: "does not enter", help: "" }],
        read: () => String(valueAt(this.#card, [...path, "enters"]) === true),
        write: (value) => this.#put([...path, "enters"], value === "true"),
      }),
      number("depth_mm", "Depth, mm", `${which}: how deep, from the receiver's rim; empty if not said.`),
      number("angle_deg", "Across, °", `${which}: direction of a gauge that touches at two points; empty for a full plug.`),
      button("Take away", `Take away reading ${index + 1}`, () => this.#takeAway(index)),
      rowFault,
    );
  }

  /** Inches become millimetres, and back, at the same size. */
  #turn(index: number, to: string): void {
    const row = this.#readingRows()[index];
    if (!isObject(row)) return;
    const { gauge_in: inch, gauge_mm: mm, ...rest } = row;
    const size = inch ?? mm ?? null;
    const turned = typeof size !== "number" ? size : to === "gauge_mm" ? Number((size * MM_PER_INCH).toFixed(4)) : Number((size / MM_PER_INCH).toFixed(5));
    this.#rows = -1;
    this.#put(["gauge", "readings", index], { [to]: turned, ...rest });
    this.element.querySelector<HTMLElement>(`[data-path="gauge.readings[${index}].unit"]`)?.focus();
  }

  #add(): void {
    const rows = this.#readingRows();
    const last = rows.at(-1);
    let next: JsonObject = FIRST_READING;
    if (isObject(last)) {
      const { gauge_in: inch, gauge_mm: mm } = last;
      const size: JsonObject = typeof inch === "number" ? { gauge_in: nextPlug(this.#value(["gauge", "plugs_in"]), inch) } : typeof mm === "number" ? { gauge_mm: Number((mm + STEP_IN * MM_PER_INCH).toFixed(4)) } : FIRST_READING;
      next = { ...last, ...size, enters: false };
    }
    this.#put(["gauge", "readings"], [...rows, next]);
    this.element.querySelector<HTMLElement>(`[data-path^="gauge.readings[${rows.length}].gauge"]`)?.focus();
  }

  #takeAway(index: number): void {
    this.#put(["gauge", "readings"], this.#readingRows().filter((_, row) => row !== index));
    this.element.querySelector<HTMLElement>('[data-key="add-reading"]')?.focus();
  }
}

function typed(value: Json | undefined): Typed | undefined {
  return typeof value === "number" || typeof value === "string" ? value : undefined;
}
