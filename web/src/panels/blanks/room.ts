// The room of the blanks: the half shells laid flat, what forming them costs, gauges, and how many come out of a sheet.
import { keepChoice, keptChoice } from "../../keeping/blanks.ts";
import type { Bench, BenchStore } from "../../state/bench.ts";
import { fileStem, forFileName } from "../../state/job-file.ts";
import { type Json, type JsonObject, sameJson, valueAt } from "../../state/json.ts";
import type { LengthUnit } from "../../state/lengths.ts";
import { type Choice, readSheetFile, STARTING_SHEETS } from "../../state/sheet.ts";
import { standing } from "../../state/standing.ts";
import type { BlanksTalk, BlankView, OnSheet } from "../../worker/blanks-talk.ts";
import { Newest } from "../../worker/client.ts";
import { SideCore, type SideThread } from "../../worker/side-core.ts";
import { el, setText } from "../../dom.ts";
import type { SideRoom } from "../doors.ts";
import { save } from "../exports.ts";
import { BlankPanel } from "./drawn.ts";
import { SheetFields } from "./fields.ts";
import { filePicker } from "../file-picker.ts";
import { button, part } from "../room-parts.ts";
import { FilesPanel } from "./files.ts";
import { LayPanel } from "./laying.ts";
import { OrdersPanel } from "./orders.ts";

/** How long the maker's hand must rest before blanks are laid flat anew. */
const REST_MS = 250;

export class BlanksRoom implements SideRoom {
  readonly #core: SideCore<BlanksTalk>;
  readonly #fields: SheetFields;
  readonly #orders: OrdersPanel;
  readonly #blank = new BlankPanel();
  readonly #lay: LayPanel;
  readonly #files: FilesPanel;
  readonly #newest: Newest<OnSheet, BlanksTalk["blanks"]["answer"]>;
  #choice: Choice = keptChoice();
  #kept = true;
  #job: Json | undefined;
  #unit: LengthUnit = "mm";
  #schema: Json | undefined;
  #views: readonly BlankView[] = [];
  /** What the blanks that are shown were laid flat from. */
  #laidOf: OnSheet | undefined;
  /** What is shown is of what is chosen now. */
  #sound = false;
  #timer: ReturnType<typeof setTimeout> | undefined;
  readonly #jobLine = el("p", { class: "says" });
  readonly #status = el("p", { class: "says", attributes: { role: "status" } });
  readonly #told = el("div", { attributes: { role: "alert" } });
  readonly #begin = el("select", { attributes: { id: "blanks-begin" }, on: { change: () => this.#beginWith() } });
  readonly #sheetPicker = filePicker((file) => void this.#openSheet(file));

  constructor(
    private readonly bench: BenchStore,
    start: () => SideThread,
    place: HTMLElement,
    /** A job file that was dropped here goes to the bench. */
    private readonly openJob: (file: File) => void,
  ) {
    this.#core = new SideCore(start, (state) => setText(this.#status, state === "loading" ? "Loading …" : ""));
    this.#fields = new SheetFields((sheet) => this.#choose({ sheet }));
    this.#orders = new OrdersPanel((others) => this.#choose({ others }), (text) => this.#say(text));
    this.#lay = new LayPanel(this.#core, this.#choice, (change) => this.#choose(change), () => this.#drawFiles());
    this.#files = new FilesPanel(this.#core, this.#choice.paper, (paper) => this.#choose({ paper }), () => fileStem(this.#job));
    this.#newest = new Newest(
      (on) => this.#core.ask("blanks", on),
      (on, answer) => this.#hear(on, answer),
      () => this.#say("The blanks could not be laid flat: the calculation broke off.", () => this.#want(0)),
    );
    place.replaceChildren(...this.#furniture());
    place.addEventListener("dragover", (event) => {
      if (event.dataTransfer?.types.includes("Files") === true) event.preventDefault();
    });
    place.addEventListener("drop", (event) => void this.#drop(event));
    void this.#learn();
  }

  render(now: Bench): void {
    const stands = standing(now);
    setText(this.#jobLine, stands?.says ?? "There is no job on the bench yet.");
    if (now.unit !== this.#unit) {
      this.#unit = now.unit;
      this.#drawFields();
      this.#blank.render(this.#views, this.#unit);
      this.#lay.render(this.#unit);
    }
    this.#orders.render(this.#choice.others, now.variants);
    if (stands?.job === this.#job) return;
    this.#job = stands?.job;
    this.#want(this.#laidOf === undefined ? 0 : REST_MS);
  }

  /** A lay that is being made goes on: it ends by itself. */
  left(): void {}

  async #learn(): Promise<void> {
    try {
      const { schema } = await this.#core.ask("sheet-schema", {});
      this.#schema = schema;
      this.#drawFields();
    } catch (error) {
      this.#say(`The fields of the sheet could not be loaded (${error instanceof Error ? error.message : String(error)}).`, () => {
        void this.#learn();
        this.#want(0);
      });
    }
  }

  #furniture(): HTMLElement[] {
    this.#begin.replaceChildren(el("option", { text: "Choose …", attributes: { value: "" } }), ...STARTING_SHEETS.map(({ name }, index) => el("option", { text: name, attributes: { value: index } })));
    const metal = part(
      "blanks-of-metal",
      "The metal at hand",
      el("div", { class: "field choice sheet-field" }, el("label", { text: "Begin with", attributes: { for: "blanks-begin" } }), el("span", { class: "entry" }, this.#begin)),
      el("div", { class: "actions" }, button("Open a sheet file", () => this.#sheetPicker.click()), button("Save the sheet", () => this.#saveSheet()), this.#sheetPicker),
      this.#fields.metal,
    );
    return [
      this.#jobLine,
      this.#status,
      this.#told,
      this.#fields.others,
      el(
        "div",
        { class: "blanks-room" },
        el(
          "div",
          { class: "blanks-column" },
          metal,
          part("blanks-of-wanted", "What is wanted of it", this.#fields.wanted, this.#orders.element),
          part("blanks-of-lying", "How blanks may lie", this.#fields.lying),
          part("blanks-of-left-on", "Metal left on", this.#fields.leftOn),
        ),
        el(
          "div",
          { class: "blanks-column" },
          part("blanks-of-blank", "The blank", this.#blank.element),
          part("blanks-of-lay", "On the sheet", this.#lay.element),
          part("blanks-of-gauges", "Gauges to form by", this.#fields.gauges, this.#blank.gauges),
          part("blanks-of-files", "Files, and paper at true size", this.#files.element),
        ),
      ),
    ];
  }

  /** A change of what the maker chose: kept, and what depends on it asked for anew. */
  #choose(change: Partial<Choice>): void {
    this.#choice = { ...this.#choice, ...change };
    const kept = keepChoice(this.#choice);
    if (!kept && this.#kept) this.#say("The browser lets this page keep nothing of this room: save the sheet as a file.");
    this.#kept = kept;
    if (change.sheet !== undefined) this.#drawFields();
    if (change.others !== undefined) this.#orders.render(change.others, this.bench.get().variants);
    if (change.sheet !== undefined || change.others !== undefined) this.#want(REST_MS);
  }

  #on(): OnSheet | undefined {
    if (this.#job === undefined) return undefined;
    const { sheet, others } = this.#choice;
    const halves = Number(valueAt(sheet, ["halves"]) ?? 0);
    return { orders: [{ job: this.#job, halves }, ...others.map(({ job, halves: own }) => ({ job, halves: own }))], sheet };
  }

  /** Asks for blanks of what is chosen now, when the hand rests. */
  #want(restMs: number): void {
    clearTimeout(this.#timer);
    const on = this.#on();
    // a name written and taken back is no change
    if (on !== undefined && this.#sound && sameOn(on, this.#laidOf)) return;
    this.#sound = false;
    this.#newest.drop();
    if (on !== undefined) this.#lay.awaitAnswer();
    document.documentElement.dataset["blanks"] = "asked";
    if (on !== undefined) this.#timer = setTimeout(() => this.#newest.want(on), restMs);
  }

  #hear(on: OnSheet, answer: BlanksTalk["blanks"]["answer"]): void {
    if (!sameOn(on, this.#on())) return;
    this.#told.replaceChildren();
    document.documentElement.dataset["blanks"] = answer.ok ? "told" : "refused";
    if (answer.ok) {
      const { blanks, notes } = answer;
      this.#fields.faults([]);
      [this.#sound, this.#laidOf, this.#views] = [true, on, blanks];
      this.#lay.want({ on, views: blanks, notes });
      this.#blank.render(blanks, this.#unit);
    } else {
      const count = answer.violations.length;
      this.#fields.faults(answer.violations);
      this.#lay.pause(`${count === 1 ? "One thing" : `${count} things`} must be put right first: see the fields.`);
    }
    this.#blank.behind(!this.#sound);
    this.#drawFiles();
  }

  #drawFields(): void {
    if (this.#schema !== undefined) this.#fields.render(this.#schema, this.#choice.sheet, this.#unit);
  }

  #drawFiles(): void {
    this.#files.render(this.#sound ? this.#laidOf : undefined, this.#views, this.#lay.standing);
  }

  /** Tells what went wrong, with a way to try again where there is one. */
  #say(text: string, again?: () => void): void {
    const button = again === undefined ? undefined : el("button", { text: "Try again", attributes: { type: "button" }, on: { click: () => { this.#told.replaceChildren(); again(); } } });
    this.#told.replaceChildren(el("p", { class: "notice fault" }, el("span", { text: `${text} ` }), button));
  }

  #beginWith(): void {
    const start = STARTING_SHEETS[Number(this.#begin.value || -1)];
    this.#begin.value = "";
    if (start !== undefined) this.#take(start.sheet);
  }

  /** Another sheet; the one before it is a file's to keep, or stands among those to begin with. */
  #take(sheet: JsonObject): void {
    this.#told.replaceChildren();
    this.#fields.forget();
    this.#choose({ sheet });
  }

  async #openSheet(file: File): Promise<void> {
    const read = await readSheetFile(file);
    if ("why" in read) this.#say(`${file.name} was not opened: ${read.why}.`);
    else this.#take(read.sheet);
  }

  #saveSheet(): void {
    const { sheet } = this.#choice;
    const name = String(valueAt(sheet, ["name"]) ?? "");
    save(new TextEncoder().encode(`${JSON.stringify(sheet, null, 2)}\n`), `${forFileName(name) || "sheet"}.json`, "application/json");
  }

  /** A sheet file that is dropped in this room is for this room; a job goes to the bench as anywhere. */
  async #drop(event: DragEvent): Promise<void> {
    const file = event.dataTransfer?.files[0];
    if (file === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    document.documentElement.classList.remove("dropping");
    if ("sheet" in (await readSheetFile(file))) await this.#openSheet(file);
    else this.openJob(file);
  }
}

function sameOn(one: OnSheet | undefined, other: OnSheet | undefined): boolean {
  return sameJson(one as unknown as Json, other as unknown as Json);
}
