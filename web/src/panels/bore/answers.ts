// What is told of the two bores: words first, then every note, the impedance, octaves and vent, the cone, and the length.
import { type LengthUnit, lengthText } from "../../state/lengths.ts";
import type { Comparison, Curves, Followed } from "../../worker/bore-talk.ts";
import { el, setText } from "../../dom.ts";
import { save } from "../exports.ts";
import { legend } from "../plot.ts";
import { alongCsv, alongTable } from "./along.ts";
import { button, list, part, scrolling } from "../room-parts.ts";
import { anglesPicture, nearPicture, ShiftsPicture, wholePicture } from "./pictures.ts";
import { coneTable, coneWords, curveWords, disturbedTable, notesTable, octavesTable, ventsTable, ventWords } from "./told.ts";
import { summary } from "./summary.ts";

export interface Told {
  comparison: Comparison;
  curves: Curves;
}

export class Answers {
  readonly elements: readonly HTMLElement[];
  readonly #behind = el("p", { class: "fault warning", text: "Shown as it was before: what is chosen now must be put right first.", attributes: { hidden: true } });
  readonly #words = el("ul", { class: "bore-words" });
  readonly #all = el("ul", { class: "bore-words" });
  readonly #caution = el("p", { class: "bore-caution" });
  readonly #shiftsPicture = new ShiftsPicture();
  readonly #shifts = scrolling("Picture of the shifts", this.#shiftsPicture.element);
  readonly #notes = el("div", { class: "blanks-body" });
  readonly #octaves = el("div", { class: "blanks-body" });
  readonly #cone = el("div", { class: "blanks-body" });
  readonly #along = el("div", { class: "blanks-body" });
  readonly #alongDone = el("p", { class: "says", attributes: { role: "status" } });
  readonly #note = el("select", { attributes: { id: "bore-note" }, on: { change: () => this.look(this.#note.value) } });
  readonly #curves = el("div", { class: "blanks-body" });
  #told: Told | undefined;
  #unit: LengthUnit = "mm";

  constructor(
    /** Another note is to be looked at. */
    private readonly look: (written: string) => void,
  ) {
    this.elements = [
      part(
        "bore-of-words",
        "What the second does",
        this.#behind,
        this.#words,
        this.#caution,
        el("details", { class: "strain-table" }, el("summary", { text: "Every note in a sentence" }), this.#all),
      ),
      part(
        "bore-of-notes",
        "Note by note",
        el("p", { class: "field-help", text: "What a player would notice first stands first in the table; in the picture the lowest note does. Above the line a note goes up, below it down. Give or take: what 0.1 mm in the diameters of both bores is worth. Hollow bars are not sure." }),
        this.#shifts,
        this.#notes,
      ),
      part("bore-of-impedance", "Impedance", el("p", { class: "turn-line" }, el("label", { text: "Fingering of", attributes: { for: "bore-note" } }), this.#note), this.#curves),
      part("bore-of-octaves", "Octaves and vent", this.#octaves),
      part("bore-of-cone", "The cone and the mouthpiece", this.#cone),
      part("bore-of-length", "Along the length", this.#along, el("div", { class: "actions" }, button("Save both as CSV", () => this.#save())), this.#alongDone),
    ];
  }

  render(told: Told, unit: LengthUnit): void {
    [this.#told, this.#unit] = [told, unit];
    const { comparison, curves } = told;
    const { a, b } = comparison;
    this.#drawWords(comparison);
    this.#shiftsPicture.render(comparison.notes, false);
    list(this.#all, comparison.words.slice(1, -1));
    setText(this.#caution, comparison.caution);
    this.#notes.replaceChildren(notesTable(comparison));
    this.#octaves.replaceChildren(
      octavesTable(comparison),
      ...ventWords(comparison).map((text) => el("p", { text })),
      el("p", { class: "field-help", text: "What opening the vent does to the peaks of each fingering: by how many cents it moves them, and what is left of their height." }),
      ventsTable(comparison),
    );
    const names = () => el("ul", { class: "plot-legend" }, ...legend(a.name, b.name));
    this.#cone.replaceChildren(...coneWords(comparison, unit).map((text) => el("p", { text })), coneTable(comparison, unit));
    this.#along.replaceChildren(
      names(),
      scrolling("Picture of the half-angle", anglesPicture(comparison, unit)),
      el("details", { class: "strain-table" }, el("summary", { text: "Both bores in numbers" }), alongTable(comparison, unit)),
      el("h4", { text: "Where the vent and the ends of the wall disturb it" }),
      disturbedTable(comparison, unit),
    );
    const notes = pitched(comparison);
    if (Array.from(this.#note.options, ({ value }) => value).join() !== notes.join()) this.#note.replaceChildren(...notes.map((note) => el("option", { text: note, attributes: { value: note } })));
    this.#note.value = curves.written;
    const peaks = curveWords(comparison, curves);
    this.#curves.replaceChildren(names(), scrolling("Pictures of the impedance", wholePicture(curves, peaks.join(" ")), nearPicture(curves)), el("ul", { class: "bore-words" }, ...peaks.map((text) => el("li", { text }))));
  }

  /** What moves with the hand, before it rests: everything else stays as the last whole comparison told it. */
  follow({ notes, octaves, missing_cone }: Followed): void {
    if (this.#told === undefined) return;
    const { comparison } = this.#told;
    this.#drawWords({ ...comparison, b: { ...comparison.b, missing_cone }, notes, octaves });
    this.#shiftsPicture.render(notes, true);
  }

  behind(behind: boolean): void {
    this.#behind.hidden = !behind;
    for (const element of [this.#shifts, this.#curves]) element.classList.toggle("behind", behind);
  }

  #drawWords(comparison: Parameters<typeof summary>[0]): void {
    const longer = comparison.b.length_mm - comparison.a.length_mm;
    const words = summary(comparison, this.#unit);
    if (Math.abs(longer) >= 0.05) words.unshift(`The second neck is ${longer > 0 ? "longer" : "shorter"} by ${lengthText(Math.abs(longer), this.#unit)} ${this.#unit}, and that moves every note with it.`);
    list(this.#words, words);
  }

  #save(): void {
    if (this.#told === undefined) return;
    save(new TextEncoder().encode(alongCsv(this.#told.comparison)), "bores.csv", "text/csv");
    setText(this.#alongDone, "bores.csv is written.");
  }
}

/** Notes from the lowest to the highest. */
export function pitched({ notes }: Comparison): string[] {
  return [...notes].sort((one, other) => one.register - other.register || one.a.frequency_hz - other.a.frequency_hz).map(({ written }) => written);
}
