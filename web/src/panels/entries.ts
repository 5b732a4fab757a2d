// Fields of a room beside the bench: each shows what is chosen, and beside it what is wrong with it.
import { fieldText, type LengthUnit, plainNumber, readNumber } from "../state/lengths.ts";
import type { Option } from "../state/schema.ts";
import type { Entry } from "../state/send-out.ts";
import { el, setText } from "../dom.ts";

interface Told {
  /** Field of what is asked for, by which faults find it. */
  path: string;
  label: string;
  /** What it is in a sentence, read out with the field. */
  help?: string | undefined;
  /** The label is for the ear alone: to the eye its column says it. */
  unseen?: boolean;
}

interface Numbered extends Told {
  kind: "mm" | "number";
  read(): Entry | undefined;
  write(value: Entry | undefined): void;
  /** Shown where nothing is said. */
  usual?: () => Entry | undefined;
  range?: { min: number; max: number } | undefined;
}

interface Chosen extends Told {
  options: readonly Option[];
  read(): string;
  write(value: string): void;
}

interface Written extends Told {
  /** Most letters that go in. */
  longest?: number;
  read(): string;
  write(value: string): void;
  usual(): string;
}

let count = 0;

export class Entries {
  #syncs: (() => void)[] = [];
  #slots: { path: string; says: HTMLElement; control: HTMLElement }[] = [];

  constructor(private readonly unit: () => LengthUnit) {}

  clear(): void {
    this.#syncs = [];
    this.#slots = [];
  }

  number({ kind, read, write, usual, range, ...told }: Numbered): HTMLElement {
    const unit = () => (kind === "mm" ? this.unit() : undefined);
    const shown = (value: Entry | undefined) => (typeof value !== "number" ? (value ?? "") : kind === "mm" ? fieldText(value, this.unit()) : plainNumber(value));
    const input = el("input", {
      attributes: { type: "text", inputmode: "decimal", autocomplete: "off", spellcheck: "false" },
      on: {
        input: () => write(input.value.trim() === "" && usual !== undefined ? undefined : (readNumber(input.value, unit()) ?? input.value)),
        change: () => {
          input.value = shown(read());
        },
      },
    });
    const unitSays = el("span", { class: "unit" });
    const rangeSays = el("span", { class: "range" });
    this.#syncs.push(() => {
      setText(unitSays, unit() ?? "");
      if (range !== undefined) setText(rangeSays, `${shown(range.min)} to ${shown(range.max)}`);
      if (usual !== undefined) input.placeholder = shown(usual());
      if (document.activeElement !== input && input.value !== shown(read())) input.value = shown(read());
    });
    return this.#field("number", input, told, kind === "mm" ? unitSays : undefined, range === undefined ? undefined : rangeSays);
  }

  choice({ options, read, write, ...told }: Chosen): HTMLElement {
    const select = el("select", { on: { change: () => write(select.value) } }, ...options.map(({ value, label }) => el("option", { text: label, attributes: { value } })));
    this.#syncs.push(() => {
      if (select.value !== read()) select.value = read();
    });
    return this.#field("choice", select, told);
  }

  text({ read, write, usual, longest = 90, ...told }: Written): HTMLElement {
    const input = el("input", { attributes: { type: "text", autocomplete: "off", spellcheck: "false", maxlength: longest }, on: { input: () => write(input.value) } });
    this.#syncs.push(() => {
      input.placeholder = usual();
      if (document.activeElement !== input && input.value !== read()) input.value = read();
    });
    return this.#field("text", input, told);
  }

  /** A place for faults that belong to no one field. */
  slot(path: string, control: HTMLElement): HTMLElement {
    const says = el("p", { class: "fault", attributes: { hidden: true, id: `entry-${++count}-fault` } });
    control.setAttribute("aria-describedby", says.id);
    this.#slots.push({ path, says, control });
    return says;
  }

  /** Brings the fields up to date; gives back which paths have a place where their faults were told. */
  sync(faults: ReadonlyMap<string, string>): ReadonlySet<string> {
    for (const sync of this.#syncs) sync();
    for (const { path, says, control } of this.#slots) {
      const text = faults.get(path);
      setText(says, text ?? "");
      says.hidden = text === undefined;
      if (text === undefined) control.removeAttribute("aria-invalid");
      else control.setAttribute("aria-invalid", "true");
    }
    return new Set(this.#slots.map(({ path }) => path));
  }

  /** Puts the focus on the field of a path; says whether it could. */
  focus(path: string): boolean {
    const control = this.#slots.find((slot) => slot.path === path)?.control;
    if (control === undefined || control.closest("[hidden]") !== null) return false;
    control.focus();
    control.scrollIntoView({ block: "center" });
    return true;
  }

  #field(kind: string, control: HTMLElement, { path, label, help, unseen = false }: Told, ...after: (HTMLElement | undefined)[]): HTMLElement {
    const id = `entry-${++count}`;
    control.id = id;
    control.dataset["path"] = path;
    const helps = help === undefined ? undefined : el("span", { class: "unseen", text: help, attributes: { id: `${id}-help` } });
    const says = el("p", { class: "fault", attributes: { hidden: true, id: `${id}-fault` } });
    control.setAttribute("aria-describedby", helps === undefined ? says.id : `${id}-help ${says.id}`);
    if (help !== undefined) control.title = help;
    this.#slots.push({ path, says, control });
    return el("div", { class: `entry ${kind}` }, el("label", { class: unseen ? "unseen" : "entry-label", text: label, attributes: { for: id } }), el("span", { class: "entry-line" }, control, ...after), helps, says);
  }
}
