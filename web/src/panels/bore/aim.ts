// Towards an aim: notes that should move and by how many cents, the smallest smooth change of the first bore that does it,
// what is reached, and what gets worse.
import type { BoreChoice, BoreRow } from "../../state/bore.ts";
import type { Json } from "../../state/json.ts";
import { type LengthUnit, lengthText, readNumber } from "../../state/lengths.ts";
import type { Aimed, Makeable, Violation } from "../../worker/bore-talk.ts";
import { el, setText } from "../../dom.ts";
import { faultText } from "../parameters.ts";
import { NumberFields, type NumberPlan } from "./numbers.ts";
import { signed } from "./told.ts";

/** What is sought, and within what. */
export interface Sought {
  wanted: { written: string; cents: number }[];
  /** What can be made, where it is not the usual. */
  limits: Json;
}

const LIMIT_FIELDS: readonly NumberPlan[] = [
  { path: "most_change_mm", label: "Most change of a diameter", unit: "mm" },
  { path: "least_diameter_mm", label: "Least diameter", unit: "mm" },
  { path: "greatest_diameter_mm", label: "Greatest diameter", unit: "mm" },
  { path: "least_half_angle_deg", label: "Least half-angle", unit: "°" },
  { path: "greatest_half_angle_deg", label: "Greatest half-angle", unit: "°" },
];

interface Wish {
  written: string;
  text: string;
}

export class AimPanel {
  readonly element: HTMLElement;
  readonly #list = el("div", { class: "group" });
  readonly #fault = el("div", { attributes: { role: "alert" } });
  readonly #result = el("div", { class: "blanks-body", attributes: { "aria-live": "polite" } });
  readonly #go = el("button", { class: "first", text: "Seek a bore", attributes: { type: "button", "data-do": "seek" }, on: { click: () => this.#seek() } });
  #wishes: Wish[] = [
    { written: "A4", text: "-3" },
    { written: "C#5", text: "-4" },
  ];
  #notes: readonly string[] = [];
  #unit: LengthUnit = "mm";
  #aimed: Aimed | undefined;
  /** Grows with every search and with what makes one void: an answer to another is not shown. */
  #sought = 0;
  #limits: BoreChoice["limits"] = {};
  readonly #fields = new NumberFields("bore-limit", LIMIT_FIELDS, (path, value) => {
    this.#limits = { ...this.#limits, [path]: value };
    this.setLimits(this.#limits);
  });

  constructor(
    private readonly seek: (sought: Sought) => Promise<{ aimed: Aimed } | { violations: readonly Violation[] } | { says: readonly string[] }>,
    private readonly take: (rows: readonly BoreRow[]) => void,
    private readonly setLimits: (limits: BoreChoice["limits"]) => void,
  ) {
    this.element = el(
      "div",
      { class: "blanks-body" },
      el("p", { class: "field-help", text: "Say which notes of the first bore should move, and by how many cents (minus is down). Every other note is asked to stay." }),
      this.#list,
      el("div", { class: "actions" }, el("button", { text: "Add a note", attributes: { type: "button" }, on: { click: () => this.#add() } })),
      el("h4", { text: "What can be made" }),
      el("p", { class: "field-help", text: "To start from, and invented: put in what your mandrels and your hammer allow. The end at the tenon stays as it is." }),
      this.#fields.element,
      el("div", { class: "actions" }, this.#go),
      this.#fault,
      this.#result,
    );
  }

  /** The notes that can be asked for, in the order of the keys. */
  render(notes: readonly string[], usual: Makeable, limits: BoreChoice["limits"], unit: LengthUnit): void {
    this.#limits = limits;
    this.#fields.render({ ...usual, ...limits }, unit);
    if (unit !== this.#unit) {
      this.#unit = unit;
      this.#drawResult();
    }
    if (notes.join() === this.#notes.join()) return;
    this.#notes = notes;
    const first = notes[0] ?? "";
    this.#wishes = this.#wishes.map((wish) => (notes.includes(wish.written) ? wish : { ...wish, written: first }));
    this.#draw();
  }

  /** The first bore or the horn is another one: what was found was for the one before. */
  forget(): void {
    this.#sought += 1;
    this.#aimed = undefined;
    this.#drawResult();
  }

  #draw(): void {
    this.#list.replaceChildren(
      ...this.#wishes.map((wish, index) => {
        const select = el(
          "select",
          {
            attributes: { id: `bore-aim-note-${index}`, "aria-label": `Note ${index + 1}` },
            on: {
              change: () => {
                wish.written = select.value;
              },
            },
          },
          ...this.#notes.map((note) => el("option", { text: note, attributes: { value: note, selected: note === wish.written } })),
        );
        const input = el("input", {
          attributes: { type: "text", inputmode: "text", id: `bore-aim-cents-${index}`, "aria-label": `Cents of note ${index + 1}`, "aria-describedby": `bore-aim-fault-${index}`, autocomplete: "off", value: wish.text },
          on: {
            input: () => {
              wish.text = input.value;
              input.removeAttribute("aria-invalid");
            },
          },
        });
        return el(
          "div",
          { class: "bore-wish" },
          select,
          el("span", { text: "by" }),
          input,
          el("span", { text: "cents" }),
          el("button", {
            class: "small",
            text: "×",
            attributes: { type: "button", "aria-label": `Take out note ${index + 1}`, disabled: this.#wishes.length === 1 },
            on: {
              click: () => {
                this.#wishes.splice(index, 1);
                this.#draw();
                this.#list.querySelector<HTMLElement>("select")?.focus();
              },
            },
          }),
          el("p", { class: "fault", attributes: { id: `bore-aim-fault-${index}`, hidden: true } }),
        );
      }),
    );
  }

  #add(): void {
    const free = this.#notes.find((note) => this.#wishes.every(({ written }) => written !== note));
    if (free === undefined) return;
    this.#wishes.push({ written: free, text: "0" });
    this.#draw();
    this.#list.querySelector<HTMLElement>(`#bore-aim-note-${this.#wishes.length - 1}`)?.focus();
  }

  async #seek(): Promise<void> {
    const read = this.#wishes.map(({ written, text }) => ({ written, cents: readNumber(text.replace("−", "-"), undefined) }));
    this.#fault.replaceChildren();
    this.#faultsOf(read.flatMap(({ cents }, index) => (cents === undefined ? [[index, `“${this.#wishes[index]?.text}” is not a number of cents.`] as const] : [])));
    this.#fields.faults([]);
    if (read.some(({ cents }) => cents === undefined)) return;
    this.#go.setAttribute("aria-busy", "true");
    const sought = (this.#sought += 1);
    const found = await this.seek({ wanted: read.map(({ written, cents }) => ({ written, cents: cents ?? 0 })), limits: { ...this.#limits } });
    this.#go.removeAttribute("aria-busy");
    if (sought !== this.#sought) return this.#fault.replaceChildren(el("p", { class: "fault", text: "The first bore or the horn was changed meanwhile: seek anew." }));
    this.#aimed = "aimed" in found ? found.aimed : undefined;
    if ("says" in found) this.#fault.replaceChildren(...found.says.map((text) => el("p", { class: "fault", text })));
    if ("violations" in found) this.#refused(found.violations);
    this.#drawResult();
  }

  #refused(violations: readonly Violation[]): void {
    const wish = ({ path }: Violation) => Number(/^wanted\[(\d+)\]/.exec(path)?.[1] ?? -1);
    const limit = ({ path }: Violation) => path.startsWith("limits.");
    this.#faultsOf(violations.filter((one) => wish(one) >= 0).map((one) => [wish(one), faultText(one, this.#unit)] as const));
    const left = this.#fields.faults(violations.filter(limit).map((one) => ({ ...one, path: one.path.slice("limits.".length) })));
    this.#fault.replaceChildren(...[...left, ...violations.filter((one) => wish(one) < 0 && !limit(one))].map((one) => el("p", { class: "fault", text: faultText(one, this.#unit) })));
  }

  /** Says beside each note what is wrong with it. */
  #faultsOf(told: readonly (readonly [number, string])[]): void {
    this.#wishes.forEach((_, index) => {
      const texts = told.filter(([at]) => at === index).map(([, text]) => text);
      const fault = this.#list.querySelector<HTMLElement>(`#bore-aim-fault-${index}`);
      const input = this.#list.querySelector(`#bore-aim-cents-${index}`);
      if (fault === null || input === null) return;
      setText(fault, texts.join(" "));
      fault.hidden = texts.length === 0;
      if (texts.length > 0) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    });
  }

  #drawResult(): void {
    const aimed = this.#aimed;
    if (aimed === undefined) return this.#result.replaceChildren();
    const unit = this.#unit;
    const wanted = aimed.notes.filter(({ wanted_cents }) => wanted_cents !== null);
    const worse = aimed.notes.filter(({ gets_worse }) => gets_worse);
    const moves = (cents: number | null) => (cents === null ? "is lost: it has no peak any more" : `moves ${signed(cents)} cents`);
    const note = ({ written, got_cents, height_change_db }: Aimed["notes"][number]) => (got_cents === null || height_change_db === null ? `${written} is lost` : `${written} by ${signed(got_cents)} cents, its peak by ${signed(height_change_db)} dB`);
    const octave = ({ written, before_cents, after_cents }: Aimed["octaves_worse"][number]) => (after_cents === null ? `The octave over ${written} is lost` : `The octave over ${written}, ${signed(after_cents)} cents beyond 2 instead of ${signed(before_cents)}`);
    const worst = [...worse.map(note), ...aimed.octaves_worse.map(octave)];
    const paragraph = (text: string) => el("p", { text });
    this.#result.replaceChildren(
      el("h4", { text: aimed.reached ? "The aim is reached" : "The aim is not reached" }),
      paragraph(
        `${wanted.map((one) => `${one.written}: wanted ${signed(one.wanted_cents ?? 0)}, ${moves(one.got_cents)}`).join("; ")}. No diameter changes by more than ${lengthText(aimed.most_change_mm, unit)} ${unit}; the half-angle lies between ${aimed.least_half_angle_deg.toFixed(2)}° and ${aimed.greatest_half_angle_deg.toFixed(2)}°.`,
      ),
      ...(aimed.held_by.length === 0 ? [] : [paragraph(`The new bore stands at these limits: ${aimed.held_by.map((path) => LIMIT_FIELDS.find((field) => field.path === path)?.label.toLowerCase() ?? (path === "vent" ? "room for the vent" : path)).join(", ")}.`)]),
      ...aimed.broken.map((one) => el("p", { class: "fault", text: `As the first’s job stands, the new bore cannot be made: ${one.path}. ${faultText(one, unit)}` })),
      ...(worst.length === 0
        ? [paragraph("Nothing gets worse: every note that was to stay stays within 1 cent, no peak loses half a decibel, no octave 2 cents.")]
        : [paragraph("What gets worse:"), el("ul", { class: "bore-words" }, ...worst.map((text) => el("li", { text: `${text}.` })))]),
      // why an aim is not reached need not be plain from the notes
      el("details", { class: "strain-table", attributes: { open: !aimed.reached } }, el("summary", { text: "The whole of it in sentences" }), el("ul", { class: "bore-words" }, ...aimed.words.map((text) => el("li", { text })))),
      el("div", { class: "actions" }, el("button", { text: "Take it as the second bore", attributes: { type: "button", "data-do": "take-aim" }, on: { click: () => this.take(aimed.profile.rows) } })),
    );
  }
}
