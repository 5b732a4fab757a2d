// Which two necks, and on which horn: the choices, the air and what the mouthpiece holds, files that are opened, and what of all
// that cannot be used.
import { LONGEST_NAME } from "../../keeping/variants.ts";
import { type BoreChoice, type OpenedFile, readHornText, SAME } from "../../state/bore.ts";
import { LARGEST_JOB_BYTES, readJobText } from "../../state/job-file.ts";
import { type Json, valueAt } from "../../state/json.ts";
import { type LengthUnit, plainNumber } from "../../state/lengths.ts";
import type { Refusal } from "../../worker/bore-talk.ts";
import { el, setText } from "../../dom.ts";
import { filePicker } from "../file-picker.ts";
import { faultText } from "../parameters.ts";
import type { Chosen } from "./chosen.ts";
import { NumberFields, type NumberPlan } from "./numbers.ts";
import { button, part } from "../room-parts.ts";

/** What is set of the horn besides its body. */
const SETTINGS: readonly NumberPlan[] = [
  { path: "air.temperature_c", label: "Air in the horn", unit: "°C" },
  { path: "air.humidity_percent", label: "Humidity", unit: "%" },
  { path: "air.carbon_dioxide_percent", label: "Carbon dioxide", unit: "%" },
  { path: "mouthpiece_volume_mm3", label: "The mouthpiece holds", unit: "cm³", empty: "as missing" },
];

export class Choosing {
  readonly element: HTMLElement;
  readonly #faults = el("div", { class: "group", attributes: { role: "alert" } });
  readonly #first = el("select", { attributes: { id: "bore-first" }, on: { change: () => this.choose({ first: this.#first.value }) } });
  readonly #second = el("select", { attributes: { id: "bore-second" }, on: { change: () => this.other({ second: this.#second.value }) } });
  readonly #horn = el("select", { attributes: { id: "bore-horn" }, on: { change: () => this.choose({ horn: this.#horn.value }) } });
  readonly #match = el("p", { class: "fault warning", attributes: { hidden: true } });
  readonly #settings = new NumberFields("bore-set", SETTINGS, (path, value) => this.choose({ set: { ...this.chosen.now.set, [path]: value } }));
  readonly #airSaid = el("summary");
  readonly #asTheFile = el("button", { text: "As the horn’s file says", attributes: { type: "button" }, on: { click: () => this.choose({ set: {} }) } });
  readonly #air = el(
    "details",
    { class: "strain-table" },
    this.#airSaid,
    el(
      "div",
      { class: "blanks-body" },
      this.#settings.element,
      el("p", { class: "field-help", text: "What the mouthpiece holds beyond the end of the neck, pushed on all the way, with what the reed gives. Left empty, it holds what is missing of the first’s cone. Breath has 2 to 4 % of carbon dioxide, a room 0.04 %." }),
      el("div", { class: "actions" }, this.#asTheFile),
    ),
  );
  readonly #jobPicker = filePicker((file) => void this.#openJob(file));
  readonly #hornPicker = filePicker((file) => void this.#openHorn(file));
  #unit: LengthUnit = "mm";

  constructor(
    private readonly chosen: Chosen,
    private readonly choose: (change: Partial<BoreChoice>) => void,
    /** Another second neck, as it came. */
    private readonly other: (change: Partial<BoreChoice>) => void,
  ) {
    const field = (label: string, control: HTMLElement) => el("div", { class: "bore-field" }, el("label", { text: label, attributes: { for: control.id } }), control);
    this.element = part(
      "bore-of-choice",
      "Which two, and on which horn",
      el("div", { class: "bore-choice" }, field("First, the customer’s own", this.#first), field("Second, compared with it", this.#second), field("Horn below", this.#horn)),
      el("p", { class: "field-help", text: "Both stand on the receiver and in the mouthpiece of the first’s job: what the second’s job says of horn and mouthpiece is not used." }),
      this.#air,
      el("div", { class: "actions" }, button("Open a job file as the second", () => this.#jobPicker.click()), button("Open a horn file", () => this.#hornPicker.click()), this.#jobPicker, this.#hornPicker),
      this.#match,
      this.#faults,
    );
  }

  render(unit: LengthUnit): void {
    this.#unit = unit;
    const { now } = this.chosen;
    const fill = (select: HTMLSelectElement, options: readonly { id: string; name: string }[], chosen: string) => {
      select.replaceChildren(...options.map(({ id, name }) => el("option", { text: name, attributes: { value: id } })));
      select.value = options.some(({ id }) => id === chosen) ? chosen : (options[0]?.id ?? "");
    };
    const sources = this.chosen.sources();
    fill(this.#first, sources, now.first);
    fill(this.#second, [{ id: SAME, name: "The first once more, to be changed" }, ...sources], now.second);
    fill(this.#horn, this.chosen.horns(), now.horn);
    this.#drawMatch();
    this.#drawAir();
  }

  /** What cannot be used of necks and horn, each at its field where it has one. */
  refused(refusals: readonly Refusal[]): void {
    const horn = refusals.find(({ of }) => of === "horn")?.violations ?? [];
    const left = this.#settings.faults(horn);
    if (horn.length > left.length) this.#air.open = true;
    const others = refusals.filter(({ of }) => of !== "rows" && of !== "horn");
    this.#faults.replaceChildren(...refusalWords([...others, { of: "horn", violations: [...left] }], this.#unit).map((text) => el("p", { class: "fault", text })));
  }

  say(text: string, again?: () => void): void {
    const button = again === undefined ? undefined : el("button", { text: "Try again", attributes: { type: "button" }, on: { click: () => { this.#faults.replaceChildren(); again(); } } });
    this.#faults.replaceChildren(el("p", { class: "notice fault" }, el("span", { text: `${text} ` }), button));
  }

  #drawMatch(): void {
    const necks = this.chosen.necks();
    const [first, second] = [necks?.a, necks?.b].map((neck) => String(valueAt(neck?.job, ["horn_voice"]) ?? ""));
    this.#match.hidden = first === second;
    const [one, other] = [first, second].map((voice = "") => (/^[aeiou]/.test(voice) ? `an ${voice}` : `a ${voice}`));
    setText(this.#match, first === second ? "" : `The first belongs to ${one}, the second to ${other}. Both are put on the first’s horn here.`);
  }

  #drawAir(): void {
    const { set } = this.chosen.now;
    const file = this.chosen.hornFile();
    const said = (path: string) => {
      const value = valueAt(file, path.split("."));
      return typeof value === "number" || typeof value === "string" ? value : null;
    };
    this.#settings.render({ ...Object.fromEntries(SETTINGS.map(({ path }) => [path, said(path)])), ...set }, this.#unit);
    const now = (path: string) => set[path] ?? (path in set ? null : said(path));
    const holds = now("mouthpiece_volume_mm3");
    setText(this.#airSaid, `Air and mouthpiece: ${now("air.temperature_c")} °C, humidity ${now("air.humidity_percent")} %, carbon dioxide ${now("air.carbon_dioxide_percent")} %, mouthpiece ${typeof holds === "number" ? `${plainNumber(holds / 1000)} cm³` : "as what is missing of the cone"}`);
    this.#asTheFile.disabled = Object.keys(set).length === 0;
  }

  async #openJob(file: File): Promise<void> {
    const read = file.size > LARGEST_JOB_BYTES ? { why: "it is far larger than a job" } : readJobText(await file.text());
    if ("why" in read) return this.say(`${file.name} was not opened: ${read.why}.`);
    const opened = openedAs(this.chosen.now.jobs, "job", file.name, read.job);
    this.other({ jobs: opened.all, second: opened.id });
  }

  async #openHorn(file: File): Promise<void> {
    const read = file.size > LARGEST_JOB_BYTES ? { why: "it is far larger than a horn file" } : readHornText(await file.text());
    if ("why" in read) return this.say(`${file.name} was not opened: ${read.why}.`);
    const opened = openedAs(this.chosen.now.horns, "horn", file.name, read.horn);
    this.choose({ horns: opened.all, horn: opened.id });
  }
}

/** Why there is no comparison, a sentence for each thing that is wrong. */
export function refusalWords(refusals: readonly Refusal[], unit: LengthUnit): string[] {
  const where = { first: "The first", second: "The second", horn: "The horn", rows: "The second bore", both: "On this horn", aim: "The aim" };
  return refusals.flatMap(({ of, violations }) => violations.map((violation) => `${where[of]}, ${violation.path}: ${faultText(violation, unit)}`));
}

/** A file among those that are open; one of the same name takes its place. */
function openedAs(before: readonly OpenedFile[], kind: string, fileName: string, json: Json): { all: readonly OpenedFile[]; id: string } {
  const name = fileName.replace(/\.json$/i, "").slice(0, LONGEST_NAME);
  const id = `${kind}-${name}`;
  return { all: [...before.filter((file) => file.id !== id), { id, name, json }], id };
}
