// Blanks being laid on the sheet: the search goes on in the worker, slice by slice, and the best lay so far is shown.
import { type Json, sameJson } from "../../state/json.ts";
import { type LengthUnit, lengthsIn } from "../../state/lengths.ts";
import type { BlanksTalk, BlankView, LayReport, OnSheet } from "../../worker/blanks-talk.ts";
import type { SideCore } from "../../worker/side-core.ts";
import { el, setText } from "../../dom.ts";
import { sheetPicture } from "./pictures.ts";
import { layFigures, layWords } from "./words.ts";

/** How long the worker lays before it tells how far it has come: a stop is heeded in so long. */
const SLICE_MS = 150;
/** How long a lay may go on, seconds. */
const SECONDS = [2, 5, 10, 30, 60, 300];
const LARGEST_SEED = 4_294_967_295;

/** What is asked for, and the blanks it is laid with. */
export interface Wanted {
  on: OnSheet;
  views: readonly BlankView[];
  notes: readonly string[];
}

interface Lay {
  report: LayReport;
  seed: number;
  rounds: number;
  finished: boolean;
}

export class LayPanel {
  readonly element: HTMLElement;
  #wanted: Wanted | undefined;
  /** What is chosen now is something else, and cannot be laid. */
  #paused = false;
  #lay: Lay | undefined;
  /** Grows with every start and stop: a slice that comes home to another run is not heeded. */
  #run = 0;
  #running = false;
  #unit: LengthUnit = "mm";
  readonly #body = el("div", { class: "blanks-body" });
  readonly #status = el("p", { class: "lay-status", attributes: { role: "status" } });
  readonly #progress = el("progress", { attributes: { max: 1, value: 0, "aria-label": "Time of the search", hidden: true } });
  readonly #go = el("button", { class: "main", text: "Lay the blanks", attributes: { type: "button", "data-do": "lay", disabled: true }, on: { click: () => (this.#running ? this.#halt("Stopped.") : void this.#search(false)) } });
  readonly #more = el("button", { text: "Go on from here", attributes: { type: "button", hidden: true }, on: { click: () => void this.#search(true) } });
  /** Whether an answer to a change is still to come, and the lay that was asked for meanwhile. */
  #awaited = false;
  #wish: { goOn: boolean } | undefined;
  readonly #seedFault = el("p", { class: "fault", attributes: { id: "blanks-seed-fault", hidden: true } });
  readonly #seed = el("input", {
    attributes: { type: "text", inputmode: "numeric", id: "blanks-seed", autocomplete: "off", "aria-describedby": "blanks-seed-help blanks-seed-fault" },
    on: { input: () => this.#readSeed() },
  });
  readonly #seconds: HTMLSelectElement;

  constructor(
    private readonly core: SideCore<BlanksTalk>,
    chosen: { seed: number; seconds: number },
    private readonly choose: (change: { seed?: number; seconds?: number }) => void,
    /** Another lay stands than before, or none. */
    private readonly changed: () => void,
  ) {
    this.#seconds = el(
      "select",
      { attributes: { id: "blanks-seconds" }, on: { change: () => this.choose({ seconds: Number(this.#seconds.value) }) } },
      ...SECONDS.map((time) => el("option", { text: time < 60 ? `${time} seconds` : time === 60 ? "1 minute" : `${time / 60} minutes`, attributes: { value: time, selected: time === chosen.seconds } })),
    );
    this.#seed.value = String(chosen.seed);
    this.element = el(
      "div",
      { class: "blanks-body" },
      el(
        "div",
        { class: "lay-actions" },
        this.#go,
        this.#more,
        el("span", { class: "lay-choice" }, el("label", { text: "for", attributes: { for: "blanks-seconds" } }), this.#seconds),
        el("span", { class: "lay-choice" }, el("label", { text: "seed", attributes: { for: "blanks-seed" } }), this.#seed),
      ),
      el("p", { class: "field-help", text: "Another seed begins otherwise: try a few. The same seed with as many rounds gives the same lay.", attributes: { id: "blanks-seed-help" } }),
      this.#seedFault,
      this.#progress,
      this.#status,
      this.#body,
    );
  }

  /** The lay that stands, for its files. */
  get standing(): { seed: number; rounds: number } | undefined {
    return this.#lay === undefined || this.#lay.report.pieces === 0 ? undefined : { seed: this.#lay.seed, rounds: this.#lay.rounds };
  }

  /** What is to be laid. A lay of it that stands goes on standing, one of something else is let go. */
  want(wanted: Wanted): void {
    const wish = this.#wish;
    [this.#awaited, this.#wish] = [false, undefined];
    const ran = this.#running;
    const same = this.#wanted !== undefined && sameJson(this.#wanted.on as unknown as Json, wanted.on as unknown as Json);
    if (!same && this.#running) this.#halt("");
    const letGo = !same && (this.#lay !== undefined || ran);
    if (letGo) this.#lay = undefined;
    this.#wanted = wanted;
    this.#paused = false;
    this.#draw();
    if (letGo) setText(this.#status, "Job or sheet were changed: the lay was let go. Lay the blanks anew.");
    else if (!this.#running) this.#tell("");
    if (wish !== undefined) void this.#search(wish.goOn && this.#lay !== undefined);
  }

  /** Something was changed, and what it makes of the blanks is not known yet: a lay that is asked for now waits for that. */
  awaitAnswer(): void {
    this.#awaited = true;
  }

  /** What is chosen now cannot be laid, and why. A lay that stands is only set aside: the choice before may come back. */
  pause(says: string): void {
    if (this.#running) this.#halt("");
    [this.#awaited, this.#wish] = [false, undefined];
    this.#paused = true;
    this.#draw();
    setText(this.#status, says);
  }

  render(unit: LengthUnit): void {
    if (unit === this.#unit) return;
    this.#unit = unit;
    this.#draw();
  }

  #readSeed(): void {
    const text = this.#seed.value.trim();
    const seed = /^\d{1,10}$/.test(text) ? Number(text) : Number.NaN;
    const wrong = !(seed <= LARGEST_SEED);
    setText(this.#seedFault, wrong ? `Allowed: whole numbers from 0 to ${LARGEST_SEED}. A seed only says where the search begins.` : "");
    this.#seedFault.hidden = !wrong;
    if (wrong) this.#seed.setAttribute("aria-invalid", "true");
    else {
      this.#seed.removeAttribute("aria-invalid");
      this.choose({ seed });
    }
    this.#buttons();
  }

  #halt(says: string): void {
    this.#run += 1;
    this.#running = false;
    this.#tell(says);
    this.#draw();
    this.changed();
  }

  async #search(goOn: boolean): Promise<void> {
    const wanted = this.#wanted;
    if (wanted === undefined || (this.#paused && !this.#awaited) || this.#seed.getAttribute("aria-invalid") === "true") return;
    if (this.#awaited) {
      this.#wish = { goOn };
      setText(this.#status, "The change is being laid flat; then laying begins …");
      return;
    }
    const run = (this.#run += 1);
    this.#running = true;
    const begun = goOn ? this.#lay : undefined;
    const seed = begun?.seed ?? Number(this.#seed.value);
    let rounds = begun?.rounds ?? 0;
    if (!goOn) {
      this.#lay = undefined;
      this.changed();
    }
    this.#draw();
    setText(this.#status, "Laying …");
    const limit = Number(this.#seconds.value) * 1000;
    let start = performance.now();
    try {
      for (;;) {
        const { progress, report } = await this.core.ask("lay", { ...wanted.on, seed, rounds, milliseconds: SLICE_MS });
        if (run !== this.#run) return;
        if (progress.rounds < rounds && !progress.finished) {
          this.#progress.value = progress.rounds / rounds;
          setText(this.#status, `Taking the lay up again: ${progress.rounds} of ${rounds} rounds …`);
          start = performance.now();
          continue;
        }
        rounds = progress.rounds;
        const better = progress.better || this.#lay === undefined;
        this.#lay = { report, seed, rounds, finished: progress.finished };
        const spent = performance.now() - start;
        this.#progress.value = Math.min(1, spent / limit);
        if (progress.finished || spent >= limit) break;
        if (better) {
          this.#draw();
          this.#tell("Laying …");
        }
      }
      this.#halt(this.#lay?.finished === true ? "Done: nothing better can be asked for." : "Time is up.");
    } catch (error) {
      if (run !== this.#run) return;
      this.#halt(`The search broke off (${error instanceof Error ? error.message : String(error)}). What was found stands; it can go on.`);
    }
  }

  /** The best so far in words, after what is going on. */
  #tell(says: string): void {
    const found = this.#lay === undefined ? "" : layWords(this.#lay.report, this.#unit);
    setText(this.#status, [says, found].filter((text) => text !== "").join(" "));
  }

  #buttons(): void {
    const wrong = this.#wanted === undefined || this.#paused || this.#seed.getAttribute("aria-invalid") === "true";
    this.#go.disabled = wrong && !this.#running;
    setText(this.#go, this.#running ? "Stop" : this.#lay === undefined ? "Lay the blanks" : "Lay them anew");
    this.#more.hidden = this.#running || this.#lay === undefined || this.#lay.finished || wrong;
    this.#progress.hidden = !this.#running;
  }

  #draw(): void {
    this.#buttons();
    const { report } = this.#lay ?? {};
    const wanted = this.#wanted;
    this.#body.classList.toggle("behind", this.#paused);
    this.element.dataset["lay"] = this.#running ? "running" : report === undefined ? "none" : "stands";
    if (report === undefined || wanted === undefined) {
      this.#body.replaceChildren(...(wanted === undefined ? [] : this.#said(wanted.notes)));
      return;
    }
    const sheets = Array.from({ length: report.sheets }, (_, index) => index);
    this.#body.replaceChildren(
      el(
        "dl",
        { class: "figures lay-figures" },
        ...layFigures(report, this.#unit).flatMap(({ name, value }) => [el("dt", { text: name }), el("dd", { text: value })]),
      ),
      el(
        "div",
        { class: sheets.length > 1 ? "sheets several" : "sheets" },
        ...sheets.map((sheet) => {
          const count = report.placements.filter((place) => place.sheet === sheet).length;
          const says = `${sheets.length > 1 ? `Sheet ${sheet + 1} of ${sheets.length}` : report.length_mm === null ? "The sheet" : "The strip"}: ${count} ${count === 1 ? "blank" : "blanks"}`;
          return el("figure", {}, el("div", { class: "picture-scroll", attributes: { tabindex: 0, role: "region", "aria-label": says } }, sheetPicture(report, wanted.views, sheet, says)), el("figcaption", { text: says }));
        }),
      ),
      ...(report.placements.length === 0 ? [] : [el("p", { class: "field-help", text: `Grain from left to right. A left half (L) is drawn with a dashed edge; the numbers are those on the printed lay.${wanted.views.length > 1 ? " The letter says which order a blank is of." : ""}` })]),
      ...this.#said(report.notes),
    );
  }

  #said(notes: readonly string[]): HTMLElement[] {
    return notes.length === 0 ? [] : [el("ul", { class: "cost-words" }, ...notes.map((note) => el("li", { text: lengthsIn(note, this.#unit) })))];
  }
}
