// Numbers that are typed, each with its unit and with what is wrong with it beside it. What is no number goes on as it was
// typed: the core says what it wants there.
import { fieldText, type LengthUnit, plainNumber, readNumber } from "../../state/lengths.ts";
import type { Violation } from "../../worker/bore-talk.ts";
import { el, setText } from "../../dom.ts";
import { faultText } from "../parameters.ts";

export type Typed = number | string | null;

export interface NumberPlan {
  /** As the core names it. */
  path: string;
  label: string;
  unit: "mm" | "°" | "°C" | "%" | "cm³";
  /** What an empty field means, where it may be empty. */
  empty?: string;
}

const CM3 = 1000;

interface Drawn {
  plan: NumberPlan;
  input: HTMLInputElement;
  unit: HTMLElement;
  fault: HTMLElement;
}

export class NumberFields {
  readonly element: HTMLElement;
  readonly #fields: readonly Drawn[];
  #unit: LengthUnit = "mm";

  constructor(id: string, plans: readonly NumberPlan[], change: (path: string, value: Typed) => void) {
    this.#fields = plans.map((plan) => {
      const name = `${id}-${plan.path.replace(/\W/g, "-")}`;
      const input = el("input", {
        attributes: { type: "text", inputmode: "decimal", autocomplete: "off", id: name, "aria-describedby": `${name}-fault`, "data-path": plan.path, ...(plan.empty === undefined ? {} : { placeholder: plan.empty }) },
        on: { input: () => change(plan.path, this.#read(plan, input.value)) },
      });
      return { plan, input, unit: el("span"), fault: el("p", { class: "fault", attributes: { id: `${name}-fault`, hidden: true } }) };
    });
    const field = ({ plan, input, unit, fault }: Drawn) => el("div", { class: "bore-field" }, el("label", { text: plan.label, attributes: { for: input.id } }), el("span", { class: "bore-number" }, input, unit), fault);
    this.element = el("div", { class: "bore-numbers" }, ...this.#fields.map(field));
  }

  render(values: Readonly<Record<string, Typed>>, unit: LengthUnit): void {
    this.#unit = unit;
    for (const { plan, input, unit: shown } of this.#fields) {
      setText(shown, plan.unit === "mm" ? unit : plan.unit);
      const value = values[plan.path] ?? null;
      // what the maker is typing is not put into other words
      if (document.activeElement !== input || this.#read(plan, input.value) !== value) input.value = this.#text(plan, value);
    }
  }

  /** Says at each field what is wrong with it; gives back what belongs to none of them. */
  faults(violations: readonly Violation[]): readonly Violation[] {
    for (const { plan, input, fault } of this.#fields) {
      const own = violations.filter(({ path }) => path === plan.path);
      setText(fault, own.map((violation) => faultText(plan.unit === "cm³" ? inCm3(violation) : violation, this.#unit)).join(" "));
      fault.hidden = own.length === 0;
      if (own.length > 0) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
    return violations.filter(({ path }) => this.#fields.every(({ plan }) => plan.path !== path));
  }

  #read(plan: NumberPlan, text: string): Typed {
    if (text.trim() === "" && plan.empty !== undefined) return null;
    const value = readNumber(text.replace("−", "-"), plan.unit === "mm" ? this.#unit : undefined);
    return value === undefined ? text : plan.unit === "cm³" ? value * CM3 : value;
  }

  #text(plan: NumberPlan, value: Typed): string {
    if (typeof value !== "number") return value ?? "";
    return plan.unit === "mm" ? fieldText(value, this.#unit) : plainNumber(plan.unit === "cm³" ? value / CM3 : value);
  }
}

function inCm3(violation: Violation): Violation {
  return { ...violation, allowed: violation.allowed.replace(/[\d.]+/g, (mm3) => plainNumber(Number(mm3) / CM3)).replace("mm³", "cm³") };
}
