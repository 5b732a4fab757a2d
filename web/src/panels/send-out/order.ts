// What is sent: every part with its box, how many of it, and what it is made of.
import { partTitle } from "../../state/cards.ts";
import { fieldText, type LengthUnit } from "../../state/lengths.ts";
import { inWords, type Option } from "../../state/schema.ts";
import { choiceOf, type Entry, optionsOf, type PartChoice, type SendOut } from "../../state/send-out.ts";
import type { Store } from "../../state/store.ts";
import type { ShopPart } from "../../worker/shop-talk.ts";
import { el, setText } from "../../dom.ts";
import type { Entries } from "../entries.ts";

interface Row {
  part: ShopPart;
  element: HTMLElement;
  sync(state: SendOut, unit: LengthUnit): void;
}

export class OrderPanel {
  readonly element = el("section", { class: "sheet order-room", attributes: { "aria-labelledby": "order-title" } });
  readonly #list = el("ul", { class: "order-list" });
  readonly #sum = el("p", { class: "says", attributes: { role: "status" } });
  readonly #none: HTMLElement;
  #rows: Row[] = [];
  #drawnOf: unknown[] = [];

  constructor(
    private readonly store: Store<SendOut>,
    private readonly entries: Entries,
    private readonly change: (part: ShopPart, change: Partial<PartChoice>) => void,
    private readonly choose: (which: (part: ShopPart) => boolean) => void,
  ) {
    const quick = (text: string, which: (part: ShopPart) => boolean) => el("button", { text, attributes: { type: "button" }, on: { click: () => this.choose(which) } });
    this.#none = el("p", { class: "fault", attributes: { hidden: true, role: "alert" } });
    this.element.append(
      el("div", { class: "list-head" }, el("h3", { text: "What is sent", attributes: { id: "order-title" } }), this.#sum),
      el(
        "div",
        { class: "actions", attributes: { role: "group", "aria-label": "Choose parts" } },
        quick("Every part of the neck", ({ onTheNeck }) => onTheNeck),
        quick("What is cut flat", ({ flat }) => flat),
        quick("What is turned", ({ drawing }) => drawing),
        quick("None", () => false),
      ),
      this.#none,
      // for the eye: to the ear every field says what it is
      el("div", { class: "order-heads", attributes: { "aria-hidden": "true" } }, ...["", "Part", "For a neck", "Made of"].map((text) => el("span", { text }))),
      this.#list,
    );
  }

  /** Where a part's row ends: on a narrow page its sheets are shown there. */
  rowOf(part: string): HTMLElement | undefined {
    return this.#rows.find((row) => row.part.id === part)?.element;
  }

  render(state: SendOut, unit: LengthUnit): void {
    const drawnOf = [state.parts, state.schema];
    if (drawnOf.some((item, index) => item !== this.#drawnOf[index])) {
      this.#drawnOf = drawnOf;
      const focused = document.activeElement instanceof HTMLElement && this.#list.contains(document.activeElement) ? document.activeElement.dataset["key"] : undefined;
      this.entries.clear();
      this.#rows = state.parts.map((part) => this.#row(part, state));
      this.#list.replaceChildren(...this.#rows.map(({ element }) => element));
      if (focused !== undefined) this.#list.querySelector<HTMLElement>(`[data-key="${CSS.escape(focused)}"]`)?.focus();
    }
    for (const row of this.#rows) row.sync(state, unit);
    const chosen = this.#rows.filter(({ part }) => choiceOf(state, part).chosen);
    const necks = typeof state.choices.necks === "number" ? state.choices.necks : 1;
    const pieces = chosen.reduce((sum, { part }) => sum + Number(choiceOf(state, part).quantity) * necks, 0);
    const whole = Number.isInteger(pieces) && pieces > 0;
    setText(this.#sum, `${counted(chosen.length, "part")}${whole && pieces !== chosen.length ? `, ${counted(pieces, "piece")} for ${counted(necks, "neck")}` : ""}`);
    const none = state.parts.length > 0 && chosen.length === 0;
    this.#none.hidden = !none;
    setText(this.#none, none ? "Nothing is chosen: tick at least one part." : "");
  }

  #row(part: ShopPart, first: SendOut): Row {
    const title = partTitle(part);
    const box = el("input", {
      attributes: { type: "checkbox", "aria-label": `Send: ${title}`, "data-key": `send-${part.id}` },
      on: { change: () => this.change(part, { chosen: box.checked }) },
    });
    const name = el("button", {
      class: "order-name",
      text: title,
      attributes: { type: "button", "aria-pressed": "false", title: `Look at the sheets of the ${part.name}`, "data-key": `look-${part.id}` },
      on: { click: () => this.store.set({ looked: part.id }) },
    });
    const now = () => choiceOf(this.store.get(), part);
    const quantity = this.entries.number({
      path: `${part.id}.quantity`,
      label: `How many for one neck: ${title}`,
      unseen: true,
      kind: "number",
      read: () => now().quantity,
      write: (value) => this.change(part, { quantity: value ?? "" }),
    });
    quantity.classList.add("order-count");
    const stock = el("span", { class: "order-stock" });
    const flag = el("span", { class: "order-flag", attributes: { hidden: true } });
    const fields = this.#fields(part, first);
    const hold = el("div", { class: "order-change", attributes: { id: `order-change-${part.id}`, hidden: true } }, ...fields);
    const opener =
      fields.length === 0
        ? undefined
        : el("button", {
            class: "order-open",
            text: "Other stock",
            attributes: { type: "button", "aria-expanded": "false", "aria-controls": hold.id, "aria-label": `Other stock: ${title}`, "data-key": `stock-${part.id}` },
            on: {
              click: () => {
                hold.hidden = !hold.hidden;
                opener?.setAttribute("aria-expanded", String(!hold.hidden));
              },
            },
          });
    const partFault = this.entries.slot(`${part.id}.part`, box);
    const element = el("li", { class: "order-part", attributes: { "data-part": part.id } }, el("label", { class: "order-box" }, box), name, quantity, stock, opener, flag, partFault, hold);
    const sync = (state: SendOut, unit: LengthUnit) => {
      const choice = choiceOf(state, part);
      box.checked = choice.chosen;
      name.setAttribute("aria-pressed", String(state.looked === part.id));
      element.classList.toggle("looked", state.looked === part.id);
      element.classList.toggle("unchosen", !choice.chosen);
      for (const hidden of [quantity, opener]) if (hidden !== undefined) hidden.hidden = !choice.chosen;
      const faulty = hold.querySelector("[aria-invalid]") !== null;
      // what is wrong must be in sight
      if (choice.chosen && faulty && hold.hidden) {
        hold.hidden = false;
        opener?.setAttribute("aria-expanded", "true");
      }
      if (!choice.chosen && !hold.hidden) {
        hold.hidden = true;
        opener?.setAttribute("aria-expanded", "false");
      }
      setText(stock, stockText(part, choice, state, unit));
      stock.classList.toggle("other", choice.metal !== undefined || choice.thickness_mm !== undefined || choice.temper !== undefined);
      flag.hidden = part.fails.length === 0;
      setText(flag, part.fails.length === 0 ? "" : `▼ ${part.fails.length === 1 ? "a clearance fails" : `${part.fails.length} clearances fail`}`);
    };
    return { part, element, sync };
  }

  /** Metal, thickness and temper, where there is a choice. */
  #fields(part: ShopPart, { schema }: SendOut): HTMLElement[] {
    const now = () => choiceOf(this.store.get(), part);
    const asIs = (text: string) => ({ value: "", label: text, help: "" });
    const fields: HTMLElement[] = [];
    if (part.metalFree) {
      fields.push(
        this.entries.choice({
          path: `${part.id}.metal`,
          label: "Metal",
          options: [asIs(`${part.metalName}, as in the job`), ...optionsOf(schema, "parts", "metal").filter(({ value }) => value !== part.metal)],
          read: () => now().metal ?? "",
          write: (value) => this.change(part, { metal: value === "" ? undefined : value }),
        }),
      );
    }
    if (part.thicknessFree) {
      fields.push(
        this.entries.number({
          path: `${part.id}.thickness_mm`,
          label: "Thickness",
          kind: "mm",
          read: () => now().thickness_mm,
          write: (value) => this.change(part, { thickness_mm: value }),
          usual: () => part.thicknessMm ?? undefined,
        }),
      );
    }
    if (part.temperFree) {
      const tempers = tempersOf(schema);
      const usual = tempers.find(({ value }) => value === part.temper);
      fields.push(
        this.entries.choice({
          path: `${part.id}.temper`,
          label: "Temper",
          options: [asIs(`${usual?.label ?? part.temper}, as usual`), ...tempers.filter((option) => option !== usual)],
          read: () => now().temper ?? "",
          write: (value) => this.change(part, { temper: value === "" ? undefined : value }),
        }),
      );
    }
    return fields;
  }
}

/** As the packing list writes them: `half hard (H02)`. */
function tempersOf(schema: SendOut["schema"]): Option[] {
  return optionsOf(schema, "parts", "temper").map((option) => {
    const code = /\b[OH]\d\d\b/.exec(option.help)?.[0];
    return { ...option, label: `${inWords(option.value)}${code === undefined ? "" : ` (${code})`}` };
  });
}

function counted(count: number, what: string): string {
  return `${count} ${what}${count === 1 ? "" : "s"}`;
}

/** `cartridge brass, 1 mm, soft`. */
function stockText(part: ShopPart, { metal, thickness_mm, temper }: PartChoice, { schema }: SendOut, unit: LengthUnit): string {
  const label = (options: readonly Option[], value: string) => options.find((option) => option.value === value)?.label ?? value;
  const thick: Entry | null = thickness_mm ?? part.thicknessMm;
  const words = [
    metal === undefined ? part.metalName : label(optionsOf(schema, "parts", "metal"), metal),
    typeof thick === "number" ? `${fieldText(thick, unit)} ${unit}` : "",
    part.temperFree ? label(tempersOf(schema), temper ?? part.temper).replace(/^./, (letter) => letter.toLowerCase()) : "",
  ];
  return words.filter((word) => word !== "").join(", ");
}
