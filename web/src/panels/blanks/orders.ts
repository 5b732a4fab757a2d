// Other orders whose half shells come from the same sheet: kept variants, or job files.
import type { Bench } from "../../state/bench.ts";
import { jobName, LARGEST_JOB_BYTES, readJobText } from "../../state/job-file.ts";
import type { Json } from "../../state/json.ts";
import type { OtherOrder } from "../../state/sheet.ts";
import { el } from "../../dom.ts";
import { filePicker } from "../file-picker.ts";

/** A sheet holds no more orders than this by far. */
const MOST = 12;
/** Two make a neck. */
const FIRST_HALVES = 2;

export class OrdersPanel {
  readonly element = el("div", { class: "group" });
  #drawn: { others: readonly OtherOrder[]; variants: Bench["variants"] } | undefined;
  readonly #picker = filePicker((file) => void this.#open(file));

  constructor(
    private readonly change: (others: readonly OtherOrder[]) => void,
    private readonly fault: (text: string) => void,
  ) {}

  render(others: readonly OtherOrder[], variants: Bench["variants"]): void {
    if (this.#drawn?.variants === variants && (this.#drawn.others === others || this.element.contains(document.activeElement)) && this.#drawn.others.length === others.length) {
      this.#drawn = { others, variants };
      return;
    }
    this.#drawn = { others, variants };
    const kept = variants.filter(({ removed }) => !removed);
    const select = el(
      "select",
      {
        attributes: { "aria-label": "Add the job of a variant" },
        on: {
          change: () => {
            const variant = kept.find(({ id }) => id === select.value);
            if (variant !== undefined) this.#add(variant.name, variant.job);
          },
        },
      },
      el("option", { text: "Add a variant …", attributes: { value: "" } }),
      ...kept.map(({ id, name }) => el("option", { text: name, attributes: { value: id } })),
    );
    const full = others.length >= MOST;
    this.element.replaceChildren(
      el("h4", { text: "Other orders on the same sheet" }),
      el("p", { class: "field-help", text: "Their metal and thickness must be the same as this job's." }),
      el("ul", { class: "group" }, ...others.map((other, index) => this.#line(other, index, others))),
      el(
        "div",
        { class: "actions" },
        kept.length > 0 && !full ? select : undefined,
        el("button", { text: "Add a job file", attributes: { type: "button", disabled: full }, on: { click: () => this.#picker.click() } }),
        this.#picker,
      ),
    );
  }

  #line(other: OtherOrder, index: number, others: readonly OtherOrder[]): HTMLElement {
    const id = `blanks-other-${index}`;
    const input = el("input", {
      attributes: { type: "text", inputmode: "numeric", id, autocomplete: "off", value: other.halves },
      on: {
        input: () => {
          // what is no whole number is refused by the core like any number that is not allowed
          const halves = /^\d{1,5}$/.test(input.value.trim()) ? Number(input.value) : 0;
          const now = this.#drawn?.others ?? others;
          this.change(now.map((one, at) => (at === index ? { ...one, halves } : one)));
        },
      },
    });
    return el(
      "li",
      { class: "field number sheet-field" },
      el("label", { text: `Half shells of ${other.name} (${jobName(other.job)})`, attributes: { for: id } }),
      el("span", { class: "entry" }, input),
      el("button", {
        text: "Remove",
        attributes: { type: "button", "aria-label": `Remove ${other.name}` },
        on: {
          click: () => {
            const now = this.#drawn?.others ?? others;
            this.change(now.filter((_, at) => at !== index));
            this.element.querySelector<HTMLElement>("input, button")?.focus();
          },
        },
      }),
    );
  }

  #add(name: string, job: Json): void {
    const others = this.#drawn?.others ?? [];
    this.#drawn = undefined;
    this.change([...others, { name, job, halves: FIRST_HALVES }]);
    this.element.querySelector<HTMLElement>(`#blanks-other-${others.length}`)?.focus();
  }

  async #open(file: File): Promise<void> {
    if (file.size > LARGEST_JOB_BYTES) return this.fault(`${file.name} was not added: it is far larger than a job.`);
    const read = readJobText(await file.text());
    if ("why" in read) return this.fault(`${file.name} was not added: ${read.why}.`);
    this.#add(file.name.replace(/\.json$/i, ""), read.job);
  }
}
