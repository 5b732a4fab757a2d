// The fields of a card, drawn from the schema. A field shows the draft; what is wrong with it is said beside it.
import { translated } from "../state/alternatives.ts";
import { type Bench, type BenchStore, commit, edit, holdsRefused, jobOf, markUnread, settle } from "../state/bench.ts";
import { sectionsOf } from "../state/cards.ts";
import { differences } from "../state/differences.ts";
import { isObject, type Json, type Path, pathOf, pathText, valueAt, withValue } from "../state/json.ts";
import { degreesText, fieldText, type LengthUnit, lengthsIn, limitText, plainNumber, readNumber } from "../state/lengths.ts";
import type { Reach, ReachSearch } from "../state/reach.ts";
import { blank, type Field, type NumberField, type Optional, planOf, rowAfter, type Rows, type Ways, wayOf } from "../state/schema.ts";
import { parameterText, tablePath } from "../state/words.ts";
import type { Violation } from "../worker/protocol.ts";
import { el, setAttribute, setText } from "../dom.ts";
import { Asked } from "./asked.ts";

/** One step of the up and down keys: a tenth of a millimetre, five thousandths of an inch, half a degree. */
const KEY_STEP_MM = 0.1;
const KEY_STEP_INCH_MM = 0.127;
const KEY_STEP_DEG = 0.5;
/** The same of newtons and of degrees Celsius. */
const KEY_STEPS: ReadonlyMap<string, number> = new Map([
  ["deg", KEY_STEP_DEG],
  ["N", 0.05],
  ["°C", 5],
]);
/** Room a text needs more than one line for. */
const LONG_TEXT = 200;

/** Something of a card that follows the draft without being drawn anew. */
interface Live {
  path: string;
  sync(state: Bench): void;
}

/** Where faults of a path are told. */
interface FaultSlot {
  path: string;
  show(violations: readonly Violation[], unread: string | undefined): void;
}

export class ParameterForm {
  readonly element = el("div", { class: "fields" });
  readonly #helpLabel = el("strong");
  readonly #helpText = el("span");
  readonly help = el("p", { class: "help", attributes: { "aria-hidden": "true" } }, this.#helpLabel, this.#helpText);
  #live: Live[] = [];
  #slots: FaultSlot[] = [];
  #drawnAs = "";
  /** The field that the foot of the card tells of. */
  #told: { plan: Field; path: Path; reach: Bench["reach"] } | undefined;
  readonly #asked = new Asked();
  /** Parameters whose help has its button: in a list the first row's is enough. */
  #askable = new Set<string>();
  /** Where help opens while a row is drawn: under the whole row, which has more room than its fields. */
  #underRow: HTMLElement[] | undefined;
  /** What each way of saying something held when it was left, so that going back loses nothing. */
  #left = new Map<string, Json>();

  constructor(
    private readonly bench: BenchStore,
    private readonly reach: ReachSearch,
  ) {}

  /** Draws the fields of the chosen card when their number or kind has changed, and brings their contents up to date. */
  render(state: Bench): void {
    if (state.schema === undefined || state.draft === undefined) return;
    const plans = sectionsOf(state.card, state.schema).flatMap((section) => {
      const plan = planOf(state.schema ?? null, section);
      return plan === undefined ? [] : [{ section, plan }];
    });
    const shape = JSON.stringify([state.card, state.unit, plans.map(({ section, plan }) => outline(plan, valueAt(state.draft, [section])))]);
    if (shape !== this.#drawnAs) {
      this.#drawnAs = shape;
      this.#draw(state, plans);
    }
    for (const live of this.#live) live.sync(state);
    if (state.reach !== this.#told?.reach && this.#told !== undefined) this.#tell(this.#told.plan, this.#told.path);
    const paths = new Set(this.#slots.map((slot) => slot.path));
    const told = [...state.violations, ...state.warnings];
    const refused = refusedPaths(state);
    for (const slot of this.#slots) {
      const isRefused = refused.has(slot.path);
      // what a refused value brought about is told beside it: the fields it is at odds with are as they were
      const mine = told.filter((violation) => {
        if (refused.size === 0 || violation.severity !== "error" || refused.has(violation.path)) return nearestSlot(violation.path, paths) === slot.path;
        return isRefused;
      });
      slot.show(mine, state.unread.get(slot.path));
    }
  }

  /** The fields as another job has them, while a part is moved: their number and kind stay, and what is wrong with them. */
  follow(state: Bench): void {
    for (const live of this.#live) live.sync(state);
  }

  /** A choice, a row or a way of saying something: done with the one touch, and taken back as one. */
  #change(path: Path, value: Json): void {
    const { draft } = this.bench.get();
    if (draft !== undefined) commit(this.bench, withValue(draft, path, value));
  }

  /** Puts the focus on the field of a path, or on what is nearest to it. */
  focus(path: string): void {
    const nearest = nearestSlot(path, new Set(this.#slots.map((slot) => slot.path)));
    const target = this.element.querySelector<HTMLElement>(`[data-path="${CSS.escape(nearest ?? path)}"]`);
    const input = target?.matches("input, select, textarea") === true ? target : target?.querySelector<HTMLElement>("input, select, textarea, button");
    (input ?? target)?.focus();
    target?.scrollIntoView({ block: "center" });
  }

  #draw(state: Bench, plans: readonly { section: string; plan: Field }[]): void {
    const focused = document.activeElement instanceof HTMLElement && this.element.contains(document.activeElement) ? document.activeElement.dataset["path"] : undefined;
    this.#live = [];
    this.#slots = [];
    this.#askable.clear();
    this.element.replaceChildren(
      ...plans.map(({ section, plan }) => {
        const simple = plan.kind === "number" || plan.kind === "choice" || plan.kind === "text";
        return simple ? this.#field(plan, [section], state) : this.#section(plan, [section], state, plans.length > 1);
      }),
    );
    this.#tell();
    if (focused !== undefined) this.element.querySelector<HTMLElement>(`[data-path="${CSS.escape(focused)}"]`)?.focus();
  }

  #section(plan: Field, path: Path, state: Bench, titled: boolean): HTMLElement {
    const fault = this.#fault(pathText(path));
    return el(
      "section",
      { class: "section", attributes: { "data-path": pathText(path) } },
      titled ? el("h3", { text: sectionTitle(plan, path) }) : undefined,
      el("p", { class: "says", text: plan.help }),
      fault,
      this.#field(plan, path, state),
    );
  }

  #field(plan: Field, path: Path, state: Bench): HTMLElement {
    switch (plan.kind) {
      case "number":
      case "choice":
      case "text":
        return this.#entry(plan, path, state);
      case "group":
        return el("div", { class: "group" }, ...plan.fields.map(({ key, field }) => this.#member(field, [...path, key], state)));
      case "rows":
        return this.#rows(plan, path, state);
      case "ways":
        return this.#ways(plan, path, state);
      case "optional":
        return this.#optional(plan, path, state);
    }
  }

  /** A field of a group; a group within a group gets a heading of its own. */
  #member(plan: Field, path: Path, state: Bench): HTMLElement {
    if (plan.kind === "number" || plan.kind === "choice" || plan.kind === "text") return this.#entry(plan, path, state);
    return el(
      "fieldset",
      { attributes: { "data-path": pathText(path) } },
      el("legend", { text: sectionTitle(plan, path) }),
      el("p", { class: "says", text: plan.help }),
      this.#fault(pathText(path)),
      this.#field(plan, path, state),
    );
  }

  /** Label, control, unit and range of one value. */
  #entry(plan: Extract<Field, { kind: "number" | "choice" | "text" }>, path: Path, state: Bench): HTMLElement {
    const name = pathText(path);
    const id = `field-${name.replace(/\W+/g, "-")}`;
    const control = this.#control(plan, path, id);
    control.setAttribute("aria-describedby", `${id}-help ${id}-fault`);
    const range = plan.kind === "number" ? rangeText(plan, state.unit) : "";
    const shownRange = el("span", { class: "range", text: range, attributes: { "aria-hidden": "true" } });
    if (plan.kind === "number") {
      const sync = (now: Bench) => {
        const here = hereText(plan, reachOf(now, name), now.unit);
        setText(shownRange, here === undefined ? range : `${range}\nhere ${here}`);
      };
      this.#live.push({ path: name, sync });
    }
    const table = tablePath(name);
    const asked = this.#askable.has(table) ? undefined : this.#asked.pair(name, plan.label, table, id, () => {
      // the foot of the card tells of the field that is asked about
      this.#tell(plan, path);
      return this.#saysOf(plan, path);
    });
    this.#askable.add(table);
    if (asked !== undefined) this.#underRow?.push(asked.room);
    return el(
      "div",
      { class: `field ${plan.kind}` },
      el("span", { class: "named" }, el("label", { text: plan.label, attributes: { for: id } }), asked?.button),
      el("span", { class: "entry" }, control, plan.kind === "number" ? el("span", { class: "unit", text: unitText(plan, state.unit) }) : undefined),
      shownRange,
      el("span", { class: "unseen", text: `${plan.help} ${range}`, attributes: { id: `${id}-help` } }),
      this.#fault(name, control, `${id}-fault`),
      this.#underRow === undefined ? asked?.room : undefined,
    );
  }

  #control(plan: Extract<Field, { kind: "number" | "choice" | "text" }>, path: Path, id: string): HTMLElement {
    const control = plan.kind === "number" ? this.#number(plan, path) : plan.kind === "choice" ? this.#choice(plan, path) : this.#text(plan, path);
    control.id = id;
    control.dataset["path"] = pathText(path);
    control.addEventListener("focus", () => {
      this.#tell(plan, path);
      if (plan.kind === "number" && !plan.whole && plan.min !== undefined && plan.max !== undefined) this.reach.want(path, plan.min, plan.max);
      else this.reach.drop();
    });
    control.addEventListener("blur", () => this.reach.drop());
    if (plan.kind !== "choice") {
      // a number is settled when it is left or Enter is pressed, a text when it is left
      control.addEventListener("blur", () => settle(this.bench));
      control.addEventListener("keydown", ({ key }) => key === "Enter" && plan.kind === "number" && settle(this.bench));
    }
    return control;
  }

  #number(plan: NumberField, path: Path): HTMLElement {
    const name = pathText(path);
    const shownUnit = () => (plan.unit === "mm" ? this.bench.get().unit : undefined);
    const inUnit = (value: number | undefined) => {
      const unit = shownUnit();
      return value === undefined || unit === undefined ? value : Number(limitText(value, unit));
    };
    const shown = (value: Json | undefined) => {
      const unit = shownUnit();
      return typeof value !== "number" ? "" : plan.unit === "deg" ? degreesText(value) : unit === undefined ? plainNumber(value) : fieldText(value, unit);
    };
    const input = el("input", {
      attributes: { type: "text", inputmode: "decimal", autocomplete: "off", spellcheck: "false", role: "spinbutton" },
      on: {
        input: () => {
          const value = readNumber(input.value, shownUnit());
          markUnread(this.bench, name, value === undefined ? input.value : undefined);
          if (value !== undefined) edit(this.bench, path, value);
        },
        change: () => {
          if (readNumber(input.value, shownUnit()) !== undefined) input.value = shown(valueAt(this.bench.get().draft, path));
        },
        keydown: (event) => {
          const up = event.key === "ArrowUp" ? 1 : event.key === "ArrowDown" ? -1 : 0;
          const value = valueAt(this.bench.get().draft, path);
          if (up === 0 || typeof value !== "number") return;
          event.preventDefault();
          const moved = value + up * keyStep(plan, this.bench.get().unit) * (event.shiftKey ? 10 : event.altKey ? 0.1 : 1);
          const next = Number(Math.min(plan.max ?? Infinity, Math.max(plan.min ?? -Infinity, plan.whole ? Math.round(moved) : moved)).toFixed(4));
          markUnread(this.bench, name, undefined);
          edit(this.bench, path, next);
          input.value = shown(next);
        },
      },
    });
    for (const [limit, value] of [["aria-valuemin", inUnit(plan.min)], ["aria-valuemax", inUnit(plan.max)]] as const) {
      if (value !== undefined) input.setAttribute(limit, String(value));
    }
    this.#live.push({
      path: name,
      sync: (state) => {
        const value = valueAt(state.draft, path);
        if (typeof value === "number") {
          setAttribute(input, "aria-valuenow", String(inUnit(value)));
          setAttribute(input, "aria-valuetext", `${shown(value)} ${unitText(plan, state.unit)}`);
        }
        // what is being typed is left alone: "0." is on its way to "0.7"
        const typed = readNumber(input.value, shownUnit());
        const same = typed !== undefined && shown(typed) === shown(value);
        if (document.activeElement === input ? !same && !state.unread.has(name) : !state.unread.has(name)) setValue(input, shown(value));
      },
    });
    return input;
  }

  #choice(plan: Extract<Field, { kind: "choice" }>, path: Path): HTMLElement {
    const select = el(
      "select",
      {
        on: {
          change: () => {
            this.#change(path, select.value);
            this.#tell(plan, path);
          },
        },
      },
      ...plan.options.map((option) => el("option", { text: option.label, attributes: { value: option.value } })),
    );
    this.#live.push({
      path: pathText(path),
      sync: (state) => {
        const value = valueAt(state.draft, path);
        if (typeof value === "string") setValue(select, value);
      },
    });
    return select;
  }

  #text(plan: Extract<Field, { kind: "text" }>, path: Path): HTMLElement {
    const long = (plan.maxLength ?? 0) > LONG_TEXT;
    const control = long ? el("textarea", { attributes: { rows: 4, maxlength: plan.maxLength } }) : el("input", { attributes: { type: "text", maxlength: plan.maxLength, autocomplete: "off" } });
    control.addEventListener("input", () => edit(this.bench, path, control.value));
    this.#live.push({
      path: pathText(path),
      sync: (state) => {
        const value = valueAt(state.draft, path);
        if (typeof value === "string" && control.value !== value) control.value = value;
      },
    });
    return control;
  }

  #rows(plan: Rows, path: Path, state: Bench): HTMLElement {
    const value = valueAt(state.draft, path);
    const all = Array.isArray(value) ? value : [];
    // a file may hold far more rows than a job may: those that could never be kept are not drawn
    const rows = all.slice(0, plan.max);
    const change = (changed: Json[], focus: Path) => {
      this.#change(path, changed);
      this.focus(pathText(focus));
    };
    return el(
      "ol",
      { class: plan.item.kind === "group" ? "rows uniform" : "rows" },
      ...rows.map((row, index) => {
        const here = [...path, index];
        const add = el("button", {
          class: "small",
          text: "+",
          attributes: { type: "button", "aria-label": `Add a row after row ${index + 1}`, title: "Add a row after this one", disabled: rows.length >= plan.max },
          on: { click: () => change([...rows.slice(0, index + 1), rowAfter(rows, index), ...rows.slice(index + 1)], [...path, index + 1]) },
        });
        const remove = el("button", {
          class: "small",
          text: "−",
          attributes: { type: "button", "aria-label": `Remove row ${index + 1}`, title: "Remove this row", disabled: rows.length <= plan.min },
          on: { click: () => change(rows.filter((_, other) => other !== index), [...path, Math.max(0, index - 1)]) },
        });
        const help: HTMLElement[] = [];
        this.#underRow = help;
        const fields = this.#rowFields(plan.item, here, row, state);
        this.#underRow = undefined;
        return el(
          "li",
          { class: "row", attributes: { "data-path": pathText(here) } },
          el("span", { class: "row-number", text: String(index + 1), attributes: { "aria-hidden": "true" } }),
          el("div", { class: "row-fields", attributes: { role: "group", "aria-label": `Row ${index + 1}` } }, fields),
          el("span", { class: "row-buttons" }, add, remove),
          this.#fault(pathText(here)),
          ...help,
        );
      }),
      rows.length === 0
        ? el("li", { class: "row" }, el("button", { text: "Add the first row", attributes: { type: "button" }, on: { click: () => change([blank(plan.item)], [...path, 0]) } }))
        : undefined,
    );
  }

  #rowFields(item: Field, path: Path, row: Json, state: Bench): HTMLElement {
    if (item.kind !== "ways") return this.#field(item, path, state);
    const now = wayOf(item, row);
    const select = el(
      "select",
      {
        class: "way",
        attributes: { "aria-label": "Kind of row" },
        on: {
          change: () => {
            const way = item.ways[Number(select.value)];
            if (way !== undefined) this.#change(path, blank(way));
          },
        },
      },
      ...item.ways.map((way, index) => el("option", { text: way.label, attributes: { value: index, selected: index === now } })),
    );
    const way = item.ways[now];
    return el("div", { class: "row-way" }, select, way === undefined ? undefined : this.#field(way, path, state));
  }

  #ways(plan: Ways, path: Path, state: Bench): HTMLElement {
    const value = valueAt(state.draft, path);
    const now = wayOf(plan, value);
    const name = pathText(path);
    const choose = (index: number) => {
      const way = plan.ways[index];
      const { draft } = this.bench.get();
      if (way === undefined || draft === undefined || index === now) return;
      const held = isObject(value) ? value : {};
      this.#left.set(`${name}#${now}`, held);
      const keys = way.fields.map(({ key }) => key);
      const kept = Object.fromEntries(keys.flatMap((key) => (held[key] === undefined ? [] : [[key, held[key]]])));
      const before = this.#left.get(`${name}#${index}`);
      const fresh = blank(way);
      const begun = isObject(fresh) ? { ...fresh, ...translated(name, held, new Set(keys), draft) } : {};
      this.#change(path, { ...(isObject(before) ? before : begun), ...kept });
    };
    const way = plan.ways[now];
    return el(
      "div",
      { class: "ways" },
      el(
        "div",
        { class: "switch", attributes: { role: "radiogroup", "aria-label": `${plan.label} given as` } },
        ...plan.ways.map((option, index) =>
          el(
            "label",
            {},
            el("input", { attributes: { type: "radio", name: `way-${name}`, value: index, checked: index === now, "data-path": `${name}#${index}` }, on: { change: () => choose(index) } }),
            el("span", { text: option.label }),
          ),
        ),
      ),
      way === undefined ? undefined : this.#field(way, path, state),
    );
  }

  #optional(plan: Optional, path: Path, state: Bench): HTMLElement {
    const name = pathText(path);
    const value = valueAt(state.draft, path);
    const there = value !== undefined && value !== null;
    const box = el("input", {
      attributes: { type: "checkbox", checked: there, "data-path": `${name}?` },
      on: {
        change: () => {
          if (there) this.#left.set(name, value);
          this.#change(path, box.checked ? (this.#left.get(name) ?? blank(plan.inner)) : null);
        },
      },
    });
    return el("div", { class: "optional" }, el("label", { class: "tick" }, box, el("span", { text: `This neck has one` })), there ? this.#field(plan.inner, path, state) : undefined);
  }

  #fault(path: string, control?: HTMLElement, id?: string): HTMLElement {
    const element = el("p", { class: "fault", attributes: { id, hidden: true } });
    this.#slots.push({
      path,
      show: (violations, unread) => {
        const told = unread === undefined ? violations.map((violation) => whereText(violation.path, path) + faultText(violation, this.bench.get().unit)) : [`“${unread}” is not a number.`];
        const wrong = unread !== undefined || violations.some((violation) => violation.severity === "error");
        setText(element, told.join(" "));
        element.hidden = told.length === 0;
        element.classList.toggle("warning", !wrong);
        if (wrong) control?.setAttribute("aria-invalid", "true");
        else control?.removeAttribute("aria-invalid");
      },
    });
    return element;
  }

  /** The foot of the card: what the field with the focus means, and what it may be. */
  #tell(plan?: Field, path: Path = []): void {
    this.#told = plan === undefined ? undefined : { plan, path, reach: this.bench.get().reach };
    setText(this.#helpLabel, plan?.label ?? "");
    setText(this.#helpText, plan === undefined ? "Choose a field, and what it means stands here." : this.#saysOf(plan, path));
  }

  /** What a field means, what its choice means, and what it may be: the same wherever it is told. */
  #saysOf(plan: Field, path: Path): string {
    const { draft, unit } = this.bench.get();
    const chosen = plan.kind === "choice" ? plan.options.find(({ value }) => value === valueAt(draft, path))?.help : undefined;
    const here = plan.kind === "number" ? hereText(plan, reachOf(this.bench.get(), pathText(path)), unit) : undefined;
    const onThis = here === undefined ? undefined : `On this neck, with all else as it is, ${here}.`;
    return [plan.help, chosen, plan.kind === "number" ? rangeSentence(plan, unit) : undefined, onThis].filter(Boolean).join(" ");
  }
}

/** Sets what is shown only where it differs: the browser lays a field out anew whatever it is given. */
function setValue(control: HTMLInputElement | HTMLSelectElement, value: string): void {
  if (control.value !== value) control.value = value;
}

/** Fields that hold what was refused, by path. */
function refusedPaths(state: Bench): ReadonlySet<string> {
  const job = jobOf(state);
  if (!holdsRefused(state) || job === undefined || state.draft === undefined) return new Set();
  return new Set(differences(job, state.draft).map(({ path }) => pathText(path)));
}

/** A fault that is told beside another field says which one it is about. */
function whereText(of: string, beside: string): string {
  return of === "" || of.startsWith(beside) || beside.startsWith(of) ? "" : `${parameterText(pathOf(of))}: `;
}

/** What decides which fields there are, and nothing of what is in them. */
function outline(plan: Field, value: Json | undefined): Json {
  switch (plan.kind) {
    case "group":
      return plan.fields.map(({ key, field }) => outline(field, isObject(value) ? value[key] : undefined));
    case "rows":
      return Array.isArray(value) ? value.slice(0, plan.max).map((row) => outline(plan.item, row)) : [];
    case "ways": {
      const way = wayOf(plan, value);
      return [way, plan.ways[way] === undefined ? null : outline(plan.ways[way], value)];
    }
    case "optional":
      return value === null || value === undefined ? false : outline(plan.inner, value);
    default:
      return 0;
  }
}

/** The path itself or the nearest group round it that has room for words. */
function nearestSlot(path: string, slots: ReadonlySet<string>): string | undefined {
  let here = path;
  while (!slots.has(here)) {
    const last = Math.max(here.lastIndexOf("."), here.lastIndexOf("["));
    if (last < 0) return undefined;
    here = here.slice(0, last);
  }
  return here;
}

/** What may stand there, and why; lengths in the unit the page shows. */
export function faultText(violation: Violation, unit: LengthUnit): string {
  const allowed = violation.allowed === "" ? "" : `Allowed: ${violation.allowed}. `;
  return lengthsIn(`${allowed}${violation.why}`, unit);
}

function sectionTitle(plan: Field, path: Path): string {
  const key = path.at(-1);
  const words = typeof key === "string" ? key.replaceAll("_", " ") : plan.label;
  return words.charAt(0).toUpperCase() + words.slice(1);
}

function unitText(plan: NumberField, unit: LengthUnit): string {
  return plan.unit === "mm" ? unit : plan.unit === "deg" ? "°" : plan.unit;
}

function rangeText(plan: NumberField, unit: LengthUnit): string {
  if (plan.min === undefined || plan.max === undefined) return "";
  const show = (value: number) => (plan.unit === "mm" ? limitText(value, unit) : plainNumber(value));
  return `${show(plan.min)} to ${show(plan.max)}`;
}

/** What is known of a field on this neck. */
function reachOf({ reach, good }: Bench, path: string): Reach | undefined {
  return reach?.path === path && reach.job === good ? reach : undefined;
}

/** `38.4 to 142.9`: what of its range a number can take on this neck, rounded to the side that can be built; nothing where it is all of it. */
function hereText(plan: NumberField, reach: Reach | undefined, unit: LengthUnit): string | undefined {
  if (reach === undefined || plan.min === undefined || plan.max === undefined || (reach.min === undefined && reach.max === undefined)) return undefined;
  const [mmPer, places] = plan.unit === "mm" && unit === "in" ? [25.4, 3] : [1, plan.max - plan.min < 5 ? 2 : 1];
  const text = (value: number, inwards: (value: number) => number) => (inwards((value / mmPer) * 10 ** places) / 10 ** places).toFixed(places);
  return `${text(reach.min ?? plan.min, Math.ceil)} to ${text(reach.max ?? plan.max, Math.floor)}`;
}

function rangeSentence(plan: NumberField, unit: LengthUnit): string | undefined {
  const range = rangeText(plan, unit);
  return range === "" ? undefined : `From ${range}${plan.unit === "deg" ? "°" : ` ${unitText(plan, unit)}`}.`;
}

function keyStep(plan: NumberField, unit: LengthUnit): number {
  if (plan.whole) return 1;
  return KEY_STEPS.get(plan.unit) ?? (unit === "in" ? KEY_STEP_INCH_MM : KEY_STEP_MM);
}
