// How the files are made: for how many necks, under what name, in which form, and what the cutting shop can cut.
import type { LengthUnit } from "../../state/lengths.ts";
import { type Field, planOf } from "../../state/schema.ts";
import { type Choices, type Making, optionsOf, type SendOut, usualOf } from "../../state/send-out.ts";
import type { Store } from "../../state/store.ts";
import { el, setText } from "../../dom.ts";
import { Entries } from "../entries.ts";

/** What the fields of the cutting shop's limits are called; the schema says in a sentence what each is. */
const LIMITS: Readonly<Record<string, string>> = {
  inside_radius_mm: "Inside corner, least radius",
  least_hole_mm: "Least hole",
  least_hole_thicknesses: "Least hole, thicknesses",
  least_web_mm: "Least web",
  safe_web_thicknesses: "Web to be told, thicknesses",
  profile_mm: "Profile true to",
  tapped_under_mm: "Tapped hole under its drill",
  letter_margin_mm: "Metal round letters",
  least_letter_mm: "Least letters",
};

const STEP_NAMES: Readonly<Record<string, string>> = { ap242: "AP242", ap214: "AP214, for older readers" };
const DRAWING_NAMES: Readonly<Record<string, string>> = { projection: "Views of drawings", units: "Figures of drawings", paper: "Paper" };
const PAPERS: Readonly<Record<string, string>> = { a4: "A4", letter: "Letter" };

export class MakingPanel {
  readonly element = el("section", { class: "sheet making-room", attributes: { "aria-labelledby": "making-title" } });
  readonly #fields = el("div", { class: "making-fields" });
  readonly #limits = el("div", { class: "making-fields" });
  readonly #limitsSay = el("summary", {});
  readonly #limitsHold = el("details", { class: "limits" }, this.#limitsSay);
  readonly entries: Entries;
  #drawnOf: unknown;

  constructor(
    private readonly store: Store<SendOut>,
    unit: () => LengthUnit,
    private readonly order: (change: Partial<Choices>) => void,
    private readonly make: (change: Partial<Making>) => void,
  ) {
    this.entries = new Entries(unit);
    this.#limitsHold.append(
      el("p", { class: "says", text: "Those of a usual waterjet shop: ask yours. Every outline is held against them before it leaves." }),
      this.#limits,
      el("button", { text: "Usual limits", attributes: { type: "button" }, on: { click: () => this.make({ cutting: {} }) } }),
    );
    this.element.append(el("h3", { text: "How the files are made", attributes: { id: "making-title" } }), this.#fields, this.#limitsHold);
  }

  render(state: SendOut): void {
    if (state.schema !== this.#drawnOf && state.schema !== undefined) {
      this.#drawnOf = state.schema;
      this.#draw(state);
    }
    const changed = Object.keys(state.making.cutting).length;
    setText(this.#limitsSay, `What the cutting shop can cut${changed === 0 ? "" : changed === 1 ? ": one limit is your own" : `: ${changed} limits are your own`}`);
  }

  /** Opens what holds the field of a path, so that it can have the focus. */
  show(path: string): void {
    if (path.startsWith("cutting.")) this.#limitsHold.open = true;
  }

  #draw({ schema }: SendOut): void {
    const { entries } = this;
    const making = () => this.store.get().making;
    const helpOf = (path: string) => {
      const plan = schema === undefined ? undefined : planOf(schema, path);
      return plan?.help.replace(/; null for.*$/, ".");
    };
    const drawing = (field: string) =>
      entries.choice({
        path: `drawing.${field}`,
        label: DRAWING_NAMES[field] ?? field,
        options: optionsOf(schema, "drawing", field).map((option) => ({ ...option, label: PAPERS[option.value] ?? option.label })),
        read: () => making().drawing[field] ?? String(usualOf(schema, ["drawing", field]) ?? ""),
        write: (value) => this.make({ drawing: { ...making().drawing, [field]: value } }),
      });
    this.#fields.replaceChildren(
      entries.number({ path: "necks", label: "For how many necks", help: helpOf("necks"), kind: "number", read: () => this.store.get().choices.necks, write: (value) => this.order({ necks: value ?? "" }) }),
      entries.text({
        path: "name",
        label: "File names begin with",
        help: helpOf("name"),
        read: () => this.store.get().choices.name,
        write: (name) => this.order({ name }),
        usual: () => "order and serial number",
      }),
      entries.choice({
        path: "step",
        label: "STEP files",
        help: helpOf("step"),
        options: optionsOf(schema, "step", "").map((option) => ({ ...option, label: STEP_NAMES[option.value] ?? option.label })),
        read: () => making().step,
        write: (step) => this.make({ step }),
      }),
      entries.number({ path: "chord_mm", label: "Triangles true to", help: helpOf("chord_mm"), kind: "mm", read: () => making().chord_mm, write: (value) => this.make({ chord_mm: value ?? "" }) }),
      ...["projection", "units", "paper"].map(drawing),
    );
    const limits = schema === undefined ? undefined : planOf(schema, "cutting");
    this.#limits.replaceChildren(...(limits?.kind === "group" ? limits.fields.map(({ key, field }) => this.#limit(key, field, schema)) : []));
  }

  #limit(key: string, field: Field, schema: SendOut["schema"]): HTMLElement {
    const cutting = () => this.store.get().making.cutting;
    const usual = usualOf(schema, ["cutting", key]);
    const range = field.kind === "number" && field.min !== undefined && field.max !== undefined ? { min: field.min, max: field.max } : undefined;
    return this.entries.number({
      path: `cutting.${key}`,
      label: LIMITS[key] ?? field.label,
      help: field.help,
      kind: key.endsWith("_mm") ? "mm" : "number",
      range,
      read: () => cutting()[key],
      write: (value) => {
        const changed = { ...cutting() };
        if (value === undefined) delete changed[key];
        else changed[key] = value;
        this.make({ cutting: changed });
      },
      usual: () => (typeof usual === "number" ? usual : undefined),
    });
  }
}
