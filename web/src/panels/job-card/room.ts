// The room of the job card: what is asked of it, the maker's numbers that come of it, its papers, and the neck as it was made.
import { keepCard, keepMade, keepTempers, keptCard, keptMade, keptTempers } from "../../keeping/job-card.ts";
import type { Bench } from "../../state/bench.ts";
import { fileStem, jobName, LARGEST_JOB_BYTES } from "../../state/job-file.ts";
import { isObject, type Json, type JsonObject, sameJson } from "../../state/json.ts";
import type { LengthUnit } from "../../state/lengths.ts";
import { standing } from "../../state/standing.ts";
import { Newest } from "../../worker/client.ts";
import type { CardFileName, CardTalk, JobCard, NeckRecord, Violation } from "../../worker/card-talk.ts";
import { SideCore, type SideThread } from "../../worker/side-core.ts";
import { el, setText } from "../../dom.ts";
import { filePicker } from "../file-picker.ts";
import { button } from "../room-parts.ts";
import type { SideRoom } from "../doors.ts";
import { save } from "../exports.ts";
import { faultText } from "../parameters.ts";
import { answers, type Tempers } from "./answers.ts";
import { CardFields } from "./fields.ts";
import { MadePanel } from "./made.ts";
import { printSheets } from "./printing.ts";

/** How long the maker's hand must rest before the card is worked out anew. */
const REST_MS = 250;

const FILES: readonly { name: CardFileName; says: string; type: string }[] = [
  { name: "card.pdf", says: "Job card, PDF", type: "application/pdf" },
  { name: "measuring_sheet.pdf", says: "Measuring sheet for a customer far away, PDF", type: "application/pdf" },
  { name: "workings.pdf", says: "Fits and metals beside each other, PDF", type: "application/pdf" },
  { name: "card.json", says: "Every number as data", type: "application/json" },
];

const words = (error: unknown) => (error instanceof Error ? error.message : String(error));

interface Asked {
  job: Json;
  card: JsonObject;
  made: JsonObject;
}

interface Answered {
  card: CardTalk["card"]["answer"];
  /** None where nothing was measured, or there is no card. */
  record: CardTalk["record"]["answer"] | undefined;
}

export class JobCardRoom implements SideRoom {
  readonly #core: SideCore<CardTalk>;
  readonly #newest: Newest<Asked, Answered>;
  readonly #fields = new CardFields(() => this.#unit, (card) => this.#choose({ card }));
  readonly #made = new MadePanel(() => this.#unit, { change: (made) => this.#choose({ made }), save: () => this.#saveRecord(), open: () => this.#recordPicker.click() });
  readonly #jobLine = el("p", { class: "says" });
  readonly #status = el("p", { class: "core-says", attributes: { role: "status" } });
  readonly #told = el("div", { class: "trouble", attributes: { role: "alert" } });
  readonly #caution = el("p", { class: "caution", attributes: { hidden: true } });
  readonly #papers = el("section", { class: "sheet", attributes: { "aria-labelledby": "card-papers" } });
  readonly #papersSay = el("p", { class: "says", attributes: { role: "status" } });
  readonly #answers = el("div", { class: "card-answers" });
  readonly #body = el("div", { class: "card-room", attributes: { hidden: true } });
  readonly #cardPicker = filePicker((file) => void this.#openCard(file));
  readonly #recordPicker = filePicker((file) => void this.#openRecord(file));
  #unit: LengthUnit = "mm";
  #job: Json | undefined;
  #schemas: CardTalk["schemas"]["answer"] | undefined;
  #card: JsonObject = keptCard();
  #madeOf: JsonObject = {};
  #keeps = true;
  #timer: ReturnType<typeof setTimeout> | undefined;
  /** What stands on the page, and what it was worked out from. */
  #shown: { asked: Asked; card: JobCard } | undefined;
  #record: { record: NeckRecord; text: string } | undefined;
  #temperOf: JsonObject = keptTempers();
  readonly #tempers: Tempers = {
    of: (metal) => {
      const chosen = this.#temperOf[metal];
      return typeof chosen === "string" ? chosen : undefined;
    },
    choose: (metal, temper) => {
      this.#temperOf = { ...this.#temperOf, [metal]: temper };
      keepTempers(this.#temperOf);
      this.#show();
    },
  };
  /** What is shown is of what is asked now. */
  #sound = false;

  constructor(
    start: () => SideThread,
    place: HTMLElement,
    /** A job that a record keeps goes to the bench. */
    private readonly openJob: (file: File) => void,
  ) {
    this.#core = new SideCore(start, (state) => setText(this.#status, state === "loading" ? "Loading what works out the card …" : ""));
    this.#newest = new Newest(
      (asked) => this.#work(asked),
      (asked, answer) => this.#hear(asked, answer),
      () => this.#say("The card could not be worked out: the calculation broke off.", () => this.#want(0)),
    );
    place.replaceChildren(this.#jobLine, this.#status, this.#caution, this.#told, this.#furniture());
    void this.#learn();
  }

  render(now: Bench): void {
    const stands = standing(now);
    setText(this.#jobLine, stands?.says ?? "There is no job on the bench yet.");
    this.#jobLine.classList.toggle("warning", stands?.differs === true);
    if (now.unit !== this.#unit) {
      this.#unit = now.unit;
      this.#show();
      this.#draw();
    }
    if (stands === undefined || sameJson(stands.job, this.#job)) return;
    const isOther = this.#job === undefined || jobName(this.#job) !== jobName(stands.job);
    this.#job = stands.job;
    if (isOther) this.#madeOf = keptMade(jobName(stands.job));
    this.#draw();
    this.#want(this.#shown === undefined ? 0 : REST_MS);
  }

  left(): void {}

  #furniture(): HTMLElement {
    this.#papers.append(
      el("h3", { text: "Papers", attributes: { id: "card-papers" } }),
      el(
        "div",
        { class: "actions" },
        el("button", { text: "Print the card", class: "first", attributes: { type: "button", "data-key": "print-card", disabled: true }, on: { click: () => void this.#print() } }),
        ...FILES.map(({ name, says }) => el("button", { text: says, attributes: { type: "button", "data-file": name, disabled: true }, on: { click: () => void this.#hand(name) } })),
      ),
      this.#papersSay,
      el("p", { class: "field-help", text: "Print at 100 % and measure the bar of 100 mm on the paper before you measure from it." }),
    );
    this.#body.append(
      el(
        "div",
        { class: "card-column" },
        el(
          "div",
          { class: "actions" },
          button("Open a card file", () => this.#cardPicker.click()),
          button("Save what is asked", () => this.#saveCard()),
          button("Starting values", () => this.#choose({ card: {} })),
          el("button", { text: "To papers and numbers", class: "narrow-only", attributes: { type: "button" }, on: { click: () => this.#papers.querySelector("button")?.focus() } }),
          this.#cardPicker,
          this.#recordPicker,
        ),
        this.#fields.element,
      ),
      el("div", { class: "card-column card-numbers-side" }, this.#papers, this.#answers),
      this.#made.element,
    );
    return this.#body;
  }

  async #learn(): Promise<void> {
    try {
      this.#schemas = await this.#core.ask("schemas", {});
      this.#body.hidden = false;
      this.#draw();
    } catch (error) {
      this.#say(`The fields of the card could not be loaded (${words(error)}).`, () => {
        void this.#learn();
        this.#want(0);
      });
    }
  }

  async #work({ job, card, made }: Asked): Promise<Answered> {
    const answer = await this.#core.ask("card", { job, card });
    const measured = answer.ok && Object.keys(made).length > 0;
    return { card: answer, record: measured ? await this.#core.ask("record", { job, card, made }) : undefined };
  }

  #choose({ card, made }: { card?: JsonObject; made?: JsonObject }): void {
    if (card !== undefined) this.#card = card;
    if (made !== undefined) this.#madeOf = made;
    const kept = card !== undefined ? keepCard(card) : keepMade(jobName(this.#job), this.#madeOf);
    if (!kept && this.#keeps) this.#say("The browser lets this page keep nothing of this room: save what is asked, and the record, as files.");
    this.#keeps = kept;
    this.#draw();
    this.#want(REST_MS);
  }

  #draw(): void {
    if (this.#schemas !== undefined) this.#fields.render(this.#schemas.card, this.#schemas.usual, this.#card);
    if (this.#job !== undefined) this.#made.render(this.#job, this.#madeOf);
  }

  #asked(): Asked | undefined {
    return this.#job === undefined ? undefined : { job: this.#job, card: this.#card, made: this.#madeOf };
  }

  /** Asks for the card of what is asked now, when the hand rests. */
  #want(restMs: number): void {
    clearTimeout(this.#timer);
    this.#sound = false;
    this.#newest.drop();
    this.#settle();
    document.documentElement.dataset["jobCard"] = "asked";
    const asked = this.#asked();
    if (asked !== undefined) this.#timer = setTimeout(() => this.#newest.want(asked), restMs);
  }

  #hear(asked: Asked, { card, record }: Answered): void {
    if (!sameJson(asked as unknown as Json, this.#asked() as unknown as Json)) return;
    this.#told.replaceChildren();
    document.documentElement.dataset["jobCard"] = card.ok ? "told" : "refused";
    const wrong = card.ok ? card.warnings : card.violations;
    const ofJob = !card.ok && card.of === "job";
    const atFields = ofJob ? new Map<string, string>() : told(wrong, this.#unit);
    const rest = this.#fields.faults(atFields);
    const refused = record !== undefined && !record.ok ? record.violations : [];
    // a wrong path stands by its name alone: it is told at the row that holds it
    const atRows = told(refused.map((violation) => ({ ...violation, path: this.#rowOf(violation.path) })), this.#unit);
    const restMade = this.#made.faults(atRows);
    const all = [...(ofJob ? wrong.map((violation) => `On the bench, ${violation.path}: ${faultText(violation, this.#unit)}`) : rest.map((path) => `${path}: ${atFields.get(path) ?? ""}`)), ...restMade.map((path) => `${path}: ${atRows.get(path) ?? ""}`)];
    this.#told.replaceChildren(...all.map((text) => el("p", { class: "fault", text })));
    this.#record = record?.ok === true ? record : undefined;
    if (card.ok) {
      [this.#shown, this.#sound] = [{ asked, card: card.card }, true];
      this.#show();
    } else if (!ofJob) {
      const count = wrong.filter(({ severity }) => severity === "error").length;
      this.#told.append(el("p", { class: "notice fault", text: `${count === 1 ? "One thing" : `${count} things`} must be put right first: see the fields. The numbers shown are of what was asked before.` }));
    }
    this.#made.show(this.#record?.record, this.#unit);
    this.#settle();
  }

  /** The field of the as-made panel that a path of a violation belongs to. */
  #rowOf(path: string): string {
    const rows = this.#madeOf["measured"];
    const row = Array.isArray(rows) ? rows.findIndex((one) => isObject(one) && one["path"] === path) : -1;
    return row < 0 ? path : `measured[${row}].path`;
  }

  #show(): void {
    if (this.#shown === undefined) return;
    const { card } = this.#shown;
    const opened = new Set([...this.#answers.querySelectorAll("details")].flatMap((fold, index) => (fold.open ? [index] : [])));
    setText(this.#caution, card.caution);
    this.#caution.hidden = false;
    const held = document.activeElement instanceof HTMLElement && this.#answers.contains(document.activeElement) ? document.activeElement.dataset["key"] : undefined;
    this.#answers.replaceChildren(...answers(card, this.#unit, this.#tempers));
    for (const [index, fold] of this.#answers.querySelectorAll("details").entries()) fold.open = opened.has(index);
    if (held !== undefined) this.#answers.querySelector<HTMLElement>(`[data-key="${held}"]`)?.focus();
    this.#made.show(this.#record?.record, this.#unit);
  }

  /** What is behind what is asked is shown so, and no paper is made of it. */
  #settle(): void {
    this.#answers.classList.toggle("behind", !this.#sound);
    for (const button of this.#papers.querySelectorAll("button")) button.disabled = !this.#sound;
  }

  async #hand(name: CardFileName): Promise<void> {
    const { job, card } = this.#shown?.asked ?? {};
    if (job === undefined || card === undefined) return;
    setText(this.#papersSay, "Writing …");
    try {
      const { bytes } = await this.#core.ask("file", { job, card, name });
      const called = `${fileStem(job)}-${name}`;
      save(bytes as Uint8Array<ArrayBuffer>, called, FILES.find((file) => file.name === name)?.type ?? "");
      setText(this.#papersSay, `${called} is written.`);
    } catch (error) {
      setText(this.#papersSay, `${name} could not be made: ${words(error)}.`);
    }
  }

  async #print(): Promise<void> {
    const { job, card } = this.#shown?.asked ?? {};
    if (job === undefined || card === undefined) return;
    setText(this.#papersSay, "Laying out the sheets …");
    try {
      const { svgs } = await this.#core.ask("sheets", { job, card });
      setText(this.#papersSay, `${svgs.length} sheets go to the browser's own printing: at 100 %, without margins.`);
      await printSheets(svgs, card["paper"] === "letter" ? "letter" : "a4", jobName(job));
    } catch (error) {
      setText(this.#papersSay, `The card could not be printed: ${words(error)}.`);
    }
  }

  #saveCard(): void {
    save(new TextEncoder().encode(`${JSON.stringify(this.#card, null, 2)}\n`), `${fileStem(this.#job)}-card_file.json`, "application/json");
  }

  #saveRecord(): void {
    if (this.#record === undefined) return;
    const called = `${fileStem(this.#job)}-record.json`;
    save(new TextEncoder().encode(this.#record.text), called, "application/json");
    this.#made.say(`${called} is written.`);
  }

  async #openCard(file: File): Promise<void> {
    try {
      if (file.size > LARGEST_JOB_BYTES) throw new Error("it is far larger than a card file");
      const card = JSON.parse(await file.text()) as Json;
      if (!isObject(card)) throw new Error("a card file is one group of fields in braces");
      this.#choose({ card });
    } catch (error) {
      this.#say(`${file.name} was not opened: ${words(error)}.`);
    }
  }

  /** Job, card file and measured values of a record, each to its place. */
  async #openRecord(file: File): Promise<void> {
    try {
      if (file.size > LARGEST_JOB_BYTES) throw new Error("it is far larger than a record");
      const { kept } = await this.#core.ask("kept", { text: await file.text() });
      const [job, card, made] = [kept?.job, kept?.card, kept?.made] as (Json | undefined)[];
      if (!isObject(job) || !isObject(card) || !isObject(made)) throw new Error("it is no record of a neck");
      const text = JSON.stringify(job, null, 2);
      this.#job = job;
      this.#madeOf = made;
      this.#choose({ card });
      this.#choose({ made });
      this.openJob(new File([text], file.name, { type: "application/json" }));
      this.#made.say(`${file.name} is open: its job lies on the bench.`);
    } catch (error) {
      this.#made.say(`${file.name} was not opened: ${words(error)}.`);
    }
  }

  /** Tells what went wrong, with a way to try again where there is one. */
  #say(text: string, again?: () => void): void {
    const button = again === undefined ? undefined : el("button", { text: "Try again", attributes: { type: "button" }, on: { click: () => { this.#told.replaceChildren(); again(); } } });
    this.#told.replaceChildren(el("p", { class: "notice fault" }, el("span", { text: `${text} ` }), button));
  }
}

function told(violations: readonly Violation[], unit: LengthUnit): Map<string, string> {
  const texts = new Map<string, string>();
  for (const violation of violations) texts.set(violation.path, [texts.get(violation.path), faultText(violation, unit)].filter((text) => text !== undefined).join(" "));
  return texts;
}
