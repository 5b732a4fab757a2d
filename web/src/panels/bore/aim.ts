// Towards an aim: notes that should move and by how many cents, the smallest smooth change of the first bore that does it,
// what is reached, and what gets worse.
import type { BoreRow } from "../../state/bore.ts";
import { type LengthUnit, lengthText, readNumber } from "../../state/lengths.ts";
import type { Aimed, WantedShift } from "../../worker/bore-talk.ts";
import { el } from "../../dom.ts";
import { signed } from "./told.ts";

interface Wish {
  written: string;
  text: string;
}

/** Notes that were to stay and move by less are left as they are, cents. */
const STAYS_CENTS = 1;

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

  constructor(
    private readonly seek: (wanted: WantedShift[]) => Promise<{ aimed: Aimed } | { says: readonly string[] }>,
    private readonly take: (rows: readonly BoreRow[]) => void,
  ) {
    this.element = el(
      "div",
      { class: "blanks-body" },
      el("p", { class: "field-help", text: "Say which notes of the first bore should move, and by how many cents (minus is down). Every other note is asked to stay." }),
      this.#list,
      el("div", { class: "actions" }, el("button", { text: "Add a note", attributes: { type: "button" }, on: { click: () => this.#add() } }), this.#go),
      this.#fault,
      this.#result,
    );
  }

  /** The notes that can be asked for, in the order of the keys. */
  render(notes: readonly string[], unit: LengthUnit): void {
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
          attributes: { type: "text", inputmode: "text", id: `bore-aim-cents-${index}`, "aria-label": `Cents of note ${index + 1}`, autocomplete: "off", value: wish.text },
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
    const wrong = read.flatMap(({ cents }, index) => (cents === undefined ? [index] : []));
    this.#fault.replaceChildren(...wrong.map((index) => el("p", { class: "fault", text: `${this.#wishes[index]?.written}: “${this.#wishes[index]?.text}” is not a number of cents.` })));
    for (const index of wrong) this.#list.querySelector(`#bore-aim-cents-${index}`)?.setAttribute("aria-invalid", "true");
    if (wrong.length > 0) return;
    this.#go.setAttribute("aria-busy", "true");
    const found = await this.seek(read.map(({ written, cents }) => ({ written, cents: cents ?? 0 })));
    this.#go.removeAttribute("aria-busy");
    this.#aimed = "aimed" in found ? found.aimed : undefined;
    if ("says" in found) this.#fault.replaceChildren(...found.says.map((text) => el("p", { class: "fault", text })));
    this.#drawResult();
  }

  #drawResult(): void {
    const aimed = this.#aimed;
    if (aimed === undefined) return this.#result.replaceChildren();
    const unit = this.#unit;
    const wanted = aimed.notes.filter(({ wanted_cents }) => wanted_cents !== null);
    const worse = aimed.notes.filter(({ wanted_cents, got_cents }) => wanted_cents === null && Math.abs(got_cents) >= STAYS_CENTS);
    const note = ({ written, got_cents, height_change_db }: Aimed["notes"][number]) => `${written} by ${signed(got_cents)} cents, its peak by ${signed(height_change_db)} dB`;
    this.#result.replaceChildren(
      el("h4", { text: aimed.reached ? "The aim is reached" : "The aim is not reached" }),
      el("p", {
        text: `${wanted.map((one) => `${one.written}: wanted ${signed(one.wanted_cents ?? 0)}, moves ${signed(one.got_cents)} cents`).join("; ")}. No diameter changes by more than ${lengthText(aimed.most_change_mm, unit)} ${unit}; the half-angle lies between ${aimed.least_half_angle_deg.toFixed(2)}° and ${aimed.greatest_half_angle_deg.toFixed(2)}°.`,
      }),
      el("p", { text: worse.length === 0 ? "Every note that was to stay stays within 1 cent." : `What gets worse: ${worse.map(note).join("; ")}. These were to stay.` }),
      el("div", { class: "actions" }, el("button", { text: "Take it as the second bore", attributes: { type: "button", "data-do": "take-aim" }, on: { click: () => this.take(aimed.profile.rows) } })),
    );
  }
}
