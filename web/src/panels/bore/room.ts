// The room of the bores: what a second bore does beside a first on the same horn, in words, tables and pictures; the second is
// changed by hand, by a file, or towards an aim.
import { keepBores, keptBores } from "../../keeping/bore.ts";
import { LONGEST_NAME } from "../../keeping/variants.ts";
import { type Bench, type BenchStore, commit, jobOf } from "../../state/bench.ts";
import { BENCH, type BoreChoice, type BoreRow, CONE, CONE_HORN, csvOf, linesOf, type OpenedFile, readHornText, SAME, SHIPPED, SHIPPED_HORN, tableOf, withRows, withSet } from "../../state/bore.ts";
import { forFileName, jobName, LARGEST_JOB_BYTES, readJobText } from "../../state/job-file.ts";
import { type Json, sameJson, valueAt } from "../../state/json.ts";
import { type LengthUnit, lengthText, plainNumber, readNumber } from "../../state/lengths.ts";
import { standing } from "../../state/standing.ts";
import type { BoreTalk, Comparison, Curves, Followed, Neck, Pair, Refusal } from "../../worker/bore-talk.ts";
import { Newest } from "../../worker/client.ts";
import { SideCore, type SideThread } from "../../worker/side-core.ts";
import { el, setText } from "../../dom.ts";
import { filePicker } from "../file-picker.ts";
import type { SideRoom } from "../doors.ts";
import { save } from "../exports.ts";
import { faultText } from "../parameters.ts";
import { AimPanel, type Sought } from "./aim.ts";
import { BoresDrawn } from "./drawn.ts";
import { NumberFields, type NumberPlan } from "./numbers.ts";
import { anglesPicture, nearPicture, ShiftsPicture, wholePicture } from "./pictures.ts";
import { legend } from "../plot.ts";
import { BoreTable, textFaults } from "./table.ts";
import { alongCsv, alongTable, coneTable, coneWords, curveWords, disturbedTable, notesTable, octavesTable, summary, ventsTable, ventWords } from "./told.ts";

/** Changes of the second bore that can be taken back. */
const MOST_BACK = 200;
/** How long the hand must rest before all that is told is drawn anew, and kept. */
const REST_MS = 300;
/** Bumps that are left when a bore is faired, mm of diameter, unless the maker says otherwise. */
const BUMP_MM = 0.05;

/** What is set of the horn besides its body. */
const SETTINGS: readonly NumberPlan[] = [
  { path: "air.temperature_c", label: "Air in the horn", unit: "°C" },
  { path: "air.humidity_percent", label: "Humidity", unit: "%" },
  { path: "air.carbon_dioxide_percent", label: "Carbon dioxide", unit: "%" },
  { path: "mouthpiece_volume_mm3", label: "The mouthpiece holds", unit: "cm³", empty: "as missing" },
];

/** `quick`: the hand is still at it, and only what it is to see at once is asked. */
type Asked = Pair & { written: string; quick: boolean };
type Answer = BoreTalk["compare"]["answer"] | BoreTalk["follow"]["answer"];
type Second = Pick<BoreChoice, "second" | "rows">;

export class BoreRoom implements SideRoom {
  readonly #core: SideCore<BoreTalk>;
  readonly #newest: Newest<Asked, Answer>;
  #choice: BoreChoice = keptBores();
  #kept = true;
  #bench: Json | undefined;
  #variants: Bench["variants"] = [];
  #unit: LengthUnit = "mm";
  /** The bore of the second's own job, as rows. */
  #own: { job: Json; rows: readonly BoreRow[] } | undefined;
  #past: Second[] = [];
  /** The cell or point whose changes are one change. */
  #going: string | undefined;
  #written = "";
  /** Runs when the hand has rested. */
  #resting: ReturnType<typeof setTimeout> | undefined;
  #told: { asked: Asked; comparison: Comparison; curves: Curves } | undefined;
  readonly #line = el("p", { class: "says" });
  readonly #status = el("p", { class: "says", attributes: { role: "status" } });
  readonly #faults = el("div", { class: "group", attributes: { role: "alert" } });
  readonly #first = el("select", { attributes: { id: "bore-first" }, on: { change: () => this.#choose({ first: this.#first.value }) } });
  readonly #second = el("select", { attributes: { id: "bore-second" }, on: { change: () => this.#other(this.#second.value) } });
  readonly #horn = el("select", { attributes: { id: "bore-horn" }, on: { change: () => this.#choose({ horn: this.#horn.value }) } });
  readonly #match = el("p", { class: "fault warning", attributes: { hidden: true } });
  readonly #behind = el("p", { class: "fault warning", text: "Shown as it was before: what is chosen now must be put right first.", attributes: { hidden: true } });
  readonly #words = el("ul", { class: "bore-words" });
  readonly #all = el("ul", { class: "bore-words" });
  readonly #caution = el("p", { class: "bore-caution" });
  readonly #shiftsPicture = new ShiftsPicture();
  readonly #shifts = el("div", { class: "picture-scroll", attributes: { tabindex: 0, role: "region", "aria-label": "Picture of the shifts" } }, this.#shiftsPicture.element);
  readonly #notes = el("div", { class: "blanks-body" });
  readonly #octaves = el("div", { class: "blanks-body" });
  readonly #cone = el("div", { class: "blanks-body" });
  readonly #along = el("div", { class: "blanks-body" });
  readonly #alongDone = el("p", { class: "says", attributes: { role: "status" } });
  readonly #note = el("select", { attributes: { id: "bore-note" }, on: { change: () => this.#look(this.#note.value) } });
  readonly #curves = el("div", { class: "blanks-body" });
  readonly #drawn: BoresDrawn;
  readonly #table: BoreTable;
  readonly #aim: AimPanel;
  readonly #settings = new NumberFields("bore-set", SETTINGS, (path, value) => this.#choose({ set: { ...this.#choice.set, [path]: value } }));
  readonly #airSaid = el("summary");
  readonly #asTheFile = el("button", { text: "As the horn’s file says", attributes: { type: "button" }, on: { click: () => this.#choose({ set: {} }) } });
  readonly #back = el("button", { text: "Take the last change back", attributes: { type: "button", "data-do": "back" }, on: { click: () => this.#takeBack() } });
  readonly #asItWas = el("button", { text: "As it came", attributes: { type: "button", "data-do": "as-it-came" }, on: { click: () => this.#put(undefined, undefined) } });
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
  readonly #csv = el("textarea", { attributes: { id: "bore-csv", rows: 6, spellcheck: "false", autocomplete: "off" } });
  readonly #csvFaults = el("div", { class: "group", attributes: { role: "alert" } });
  readonly #bump = el("input", { attributes: { type: "text", inputmode: "decimal", id: "bore-bump", autocomplete: "off", value: BUMP_MM } });
  readonly #name = el("input", { attributes: { type: "text", id: "bore-name", maxlength: LONGEST_NAME, autocomplete: "off" } });
  readonly #done = el("p", { class: "says", attributes: { role: "status", id: "bore-done" } });
  readonly #tableDone = el("p", { class: "says", attributes: { role: "status", id: "bore-table-done" } });
  readonly #jobPicker = filePicker((file) => void this.#openJob(file));
  readonly #hornPicker = filePicker((file) => void this.#openHorn(file));
  readonly #csvPicker = filePicker((file) => void this.#openCsv(file), ".csv,.txt,text/csv,text/plain");

  constructor(
    private readonly bench: BenchStore,
    start: () => SideThread,
    place: HTMLElement,
    private readonly keepVariant: (name: string, job: Json) => void,
  ) {
    this.#core = new SideCore(start, (state) => setText(this.#status, state === "loading" ? "Loading …" : ""));
    this.#newest = new Newest<Asked, Answer>(
      ({ quick, ...asked }) => (quick ? this.#core.ask("follow", asked) : this.#core.ask("compare", asked)),
      (asked, answer) => this.#hear(asked, answer),
      () => this.#say("The bores could not be compared: the calculation broke off.", () => this.#want()),
    );
    this.#drawn = new BoresDrawn((index, diameter_mm) => this.#movePoint(index, diameter_mm), () => this.#settle());
    this.#table = new BoreTable((rows, typing) => this.#typed(rows, typing), () => this.#want());
    this.#aim = new AimPanel((sought) => this.#seek(sought), (rows) => this.#takeAim(rows), (limits) => this.#setLimits(limits));
    place.replaceChildren(...this.#furniture());
  }

  render(now: Bench): void {
    const stands = standing(now);
    setText(this.#line, stands?.says ?? "There is no job on the bench yet.");
    if (stands === undefined) return;
    const { job } = stands;
    if (now.variants === this.#variants && now.unit === this.#unit && job === this.#bench) return;
    if (job !== this.#bench) this.#aim.forget();
    [this.#variants, this.#unit, this.#bench] = [now.variants, now.unit, job];
    if (this.#choice.second === "") this.#choice = { ...this.#choice, second: valueAt(this.#bench, ["horn_voice"]) === "alto" ? "shipped-more-open" : SAME };
    this.#drawChoices();
    this.#drawResult();
    this.#follow();
  }

  left(): void {
    this.#settle();
  }

  #furniture(): HTMLElement[] {
    const part = (id: string, title: string, ...children: HTMLElement[]) => el("section", { class: "blanks-part", attributes: { "aria-labelledby": id } }, el("h3", { text: title, attributes: { id } }), ...children);
    const button = (text: string, work: () => void) => el("button", { text, attributes: { type: "button" }, on: { click: work } });
    const field = (label: string, control: HTMLElement) => el("div", { class: "bore-field" }, el("label", { text: label, attributes: { for: control.id } }), control);
    return [
      this.#line,
      this.#status,
      part(
        "bore-of-choice",
        "Which two, and on which horn",
        el(
          "div",
          { class: "bore-choice" },
          field("First", this.#first),
          field("Second, compared with it", this.#second),
          field("Horn below", this.#horn),
        ),
        this.#air,
        el("div", { class: "actions" }, button("Open a job file as the second", () => this.#jobPicker.click()), button("Open a horn file", () => this.#hornPicker.click()), this.#jobPicker, this.#hornPicker),
        this.#match,
        this.#faults,
      ),
      el(
        "div",
        { class: "bore-room" },
        el(
          "div",
          { class: "blanks-column" },
          part(
            "bore-of-words",
            "What the second does",
            this.#behind,
            this.#words,
            this.#caution,
            el("details", { class: "strain-table" }, el("summary", { text: "Every note in a sentence" }), this.#all),
          ),
          part("bore-of-notes", "Note by note", el("p", { class: "field-help", text: "What a player would notice first stands first in the table; in the picture the lowest note does. Give or take: what 0.1 mm in the diameters of both bores is worth. Hollow bars are not sure." }), this.#shifts, this.#notes),
          part("bore-of-impedance", "Impedance", el("p", { class: "turn-line" }, el("label", { text: "Fingering of", attributes: { for: "bore-note" } }), this.#note), this.#curves),
          part("bore-of-octaves", "Octaves and vent", this.#octaves),
          part("bore-of-cone", "The cone and the mouthpiece", this.#cone),
          part("bore-of-length", "Along the length", this.#along, el("div", { class: "actions" }, button("Save both as CSV", () => this.#saveAlong())), this.#alongDone),
        ),
        el(
          "div",
          { class: "blanks-column" },
          part("bore-of-drawn", "Both bores", this.#drawn.element),
          part(
            "bore-of-table",
            "The second bore as a table",
            el("div", { class: "actions" }, this.#back, this.#asItWas),
            this.#table.element,
            el("h4", { text: "Fair it" }),
            el("p", { class: "field-help", text: "The nearest bore that never narrows, and leaves the straight line between its neighbours nowhere by more than this." }),
            el("p", { class: "turn-line" }, el("label", { text: "Bumps left, of diameter", attributes: { for: "bore-bump" } }), this.#bump, button("Fair it", () => void this.#fair())),
            el("h4", { text: "As CSV" }),
            el("div", { class: "actions" }, button("Save as CSV", () => this.#saveCsv()), button("Open a CSV", () => this.#csvPicker.click()), this.#csvPicker),
            el("details", { class: "strain-table" }, el("summary", { text: "Paste it" }), el("p", { class: "field-help" }, el("label", { text: "Station and diameter, one place a line; millimetres, or inches under the names station_in,diameter_in", attributes: { for: "bore-csv" } })), this.#csv, button("Take these rows", () => void this.#takeCsv(this.#csv.value, "The rows"))),
            this.#csvFaults,
            this.#tableDone,
          ),
          part("bore-of-aim", "Towards an aim", this.#aim.element),
          part(
            "bore-of-keeping",
            "Keep the second bore",
            el("p", { class: "turn-line" }, el("label", { text: "As a variant, named", attributes: { for: "bore-name" } }), this.#name, button("Keep it", () => this.#keepIt())),
            el("div", { class: "actions" }, button("Lay it in the job on the bench", () => void this.#toBench())),
            this.#done,
          ),
        ),
      ),
    ];
  }

  // what is chosen

  #sources(): readonly { id: string; name: string; job: Json }[] {
    const variants = this.#variants.filter(({ removed }) => !removed).map(({ id, name, job }) => ({ id: `variant-${id}`, name, job }));
    const opened = this.#choice.jobs.map(({ id, name, json }) => ({ id, name, job: json }));
    return [...(this.#bench === undefined ? [] : [{ id: BENCH, name: `On the bench: ${jobName(this.#bench)}`, job: this.#bench }]), ...SHIPPED, ...variants, ...opened];
  }

  #horns(): readonly { id: string; name: string; horn: Json }[] {
    return [{ id: CONE, name: "A plain cone stands in", horn: CONE_HORN }, SHIPPED_HORN, ...this.#choice.horns.map(({ id, name, json }) => ({ id, name, horn: json }))];
  }

  /** The horn's file as it is chosen. */
  #hornFile(): Json {
    return this.#horns().find(({ id }) => id === this.#choice.horn)?.horn ?? CONE_HORN;
  }

  #necks(): { a: Neck; b: Neck } | undefined {
    const sources = this.#sources();
    const a = sources.find(({ id }) => id === this.#choice.first) ?? sources[0];
    const chosen = this.#choice.second === SAME ? a : sources.find(({ id }) => id === this.#choice.second);
    if (a === undefined) return undefined;
    const b = chosen ?? a;
    const changed = this.#choice.rows !== undefined;
    const name = b === a ? (changed ? `${a.name}, changed` : `${a.name}, once more`) : changed ? `${b.name}, changed` : b.name;
    return { a: { name: a.name, job: a.job }, b: { name, job: b.job } };
  }

  /** The second bore as it is now. */
  #rows(): readonly BoreRow[] {
    return this.#choice.rows ?? this.#own?.rows ?? [];
  }

  #drawChoices(): void {
    const fill = (select: HTMLSelectElement, options: readonly { id: string; name: string }[], chosen: string) => {
      select.replaceChildren(...options.map(({ id, name }) => el("option", { text: name, attributes: { value: id } })));
      select.value = options.some(({ id }) => id === chosen) ? chosen : (options[0]?.id ?? "");
    };
    const sources = this.#sources();
    fill(this.#first, sources, this.#choice.first);
    fill(this.#second, [{ id: SAME, name: "The first once more, to be changed" }, ...sources], this.#choice.second);
    fill(this.#horn, this.#horns(), this.#choice.horn);
    const voices = [this.#necks()?.a, this.#necks()?.b].map((neck) => String(valueAt(neck?.job, ["horn_voice"]) ?? ""));
    this.#match.hidden = voices[0] === voices[1];
    const [one, other] = voices.map((voice) => (/^[aeiou]/.test(voice) ? `an ${voice}` : `a ${voice}`));
    setText(this.#match, this.#match.hidden ? "" : `The first belongs to ${one}, the second to ${other}. Both are put on the first’s horn here.`);
    const file = this.#hornFile();
    const said = (path: string) => {
      const value = valueAt(file, path.split("."));
      return typeof value === "number" || typeof value === "string" ? value : null;
    };
    this.#settings.render({ ...Object.fromEntries(SETTINGS.map(({ path }) => [path, said(path)])), ...this.#choice.set }, this.#unit);
    const now = (path: string) => this.#choice.set[path] ?? (path in this.#choice.set ? null : said(path));
    const holds = now("mouthpiece_volume_mm3");
    setText(this.#airSaid, `Air and mouthpiece: ${now("air.temperature_c")} °C, humidity ${now("air.humidity_percent")} %, carbon dioxide ${now("air.carbon_dioxide_percent")} %, mouthpiece ${typeof holds === "number" ? `${plainNumber(holds / 1000)} cm³` : "as what is missing of the cone"}`);
    this.#asTheFile.disabled = Object.keys(this.#choice.set).length === 0;
    this.#back.disabled = this.#past.length === 0;
    this.#asItWas.disabled = this.#choice.rows === undefined;
  }

  #setLimits(limits: BoreChoice["limits"]): void {
    this.#choice = { ...this.#choice, limits };
    this.#keep();
  }

  #choose(change: Partial<BoreChoice>): void {
    if (change.first !== undefined || change.horn !== undefined || change.set !== undefined) this.#aim.forget();
    this.#choice = { ...this.#choice, ...change };
    this.#keep();
    this.#drawChoices();
    this.#follow();
  }

  /** Rows that are being moved or typed: only what the hand is to see at once comes before it rests. */
  #follows(rows: readonly BoreRow[], going: string | undefined): void {
    this.#remember(going);
    this.#choice = { ...this.#choice, rows };
    [this.#back.disabled, this.#asItWas.disabled] = [false, false];
    this.#drawSecond();
    this.#awaitRest();
    this.#want();
  }

  #awaitRest(): void {
    clearTimeout(this.#resting);
    this.#resting = setTimeout(() => this.#rest(), REST_MS);
  }

  #rest(): void {
    clearTimeout(this.#resting);
    if (this.#resting === undefined) return;
    this.#resting = undefined;
    this.#keep();
    this.#want();
  }

  #keep(): void {
    const kept = keepBores(this.#choice);
    if (!kept && this.#kept) setText(this.#tableDone, "The browser lets this page keep nothing of this room: save the bore as CSV, or keep it as a variant.");
    this.#kept = kept;
  }

  /** Another second bore: the one that was changed can be taken back. */
  #other(second: string): void {
    this.#remember(undefined);
    this.#table.forget();
    this.#choose({ second, rows: undefined });
  }

  #remember(going: string | undefined): void {
    if (going !== undefined && going === this.#going) return;
    this.#going = going;
    const { second, rows } = this.#choice;
    this.#past = [...this.#past, { second, rows }].slice(-MOST_BACK);
  }

  /** What was being moved or typed is one whole change. */
  #settle(): void {
    this.#going = undefined;
    this.#rest();
  }

  #put(rows: readonly BoreRow[] | undefined, going: string | undefined): void {
    this.#remember(going);
    if (going === undefined) this.#table.forget();
    this.#choose({ rows });
  }

  #takeBack(): void {
    const before = this.#past.at(-1);
    if (before === undefined) return;
    this.#past = this.#past.slice(0, -1);
    this.#going = undefined;
    this.#table.forget();
    this.#choose(before);
    if (this.#back.disabled) this.#table.element.querySelector<HTMLElement>("input")?.focus();
  }

  #typed(rows: readonly BoreRow[], typing: string | undefined): void {
    if (typing === undefined && rows === this.#choice.rows) return this.#settle();
    if (typing === undefined && rows.length === this.#rows().length) return this.#settle();
    this.#follows(rows, typing);
  }

  #movePoint(index: number, diameter_mm: number): void {
    const rows = this.#rows();
    if (rows[index]?.diameter_mm === diameter_mm) return;
    this.#follows(
      rows.map((row, at) => (at === index ? { ...row, diameter_mm } : row)),
      `point ${index}`,
    );
  }

  // what is asked

  /** The rows that are shown, and the comparison, come to be those of what is chosen. */
  #follow(): void {
    const necks = this.#necks();
    if (necks === undefined) return;
    const { b } = necks;
    if (this.#own === undefined || !sameJson(this.#own.job, b.job)) {
      const table = tableOf(b.job);
      this.#own = table === undefined ? undefined : { job: b.job, rows: table };
      if (table === undefined) void this.#learn(b);
    }
    this.#drawSecond();
    this.#want();
  }

  /** The rows of a bore that has no table. */
  async #learn(neck: Neck): Promise<void> {
    try {
      const read = await this.#core.ask("rows", neck);
      if (!read.ok || !sameJson(this.#necks()?.b.job, neck.job)) return;
      this.#own = { job: neck.job, rows: read.rows };
      this.#drawSecond();
    } catch {
      // told of where the comparison is
    }
  }

  #want(): void {
    const necks = this.#necks();
    if (necks === undefined) return;
    document.documentElement.dataset["bore"] = "asked";
    if (this.#table.hasUnread) {
      this.#newest.drop();
      return this.#isBehind(true);
    }
    const lines = this.#choice.rows === undefined ? undefined : linesOf(this.#choice.rows);
    const quick = this.#resting !== undefined && this.#told !== undefined;
    this.#newest.want({ ...necks, lines, horn: withSet(this.#hornFile(), this.#choice.set), written: this.#written, quick });
  }

  #hear(asked: Asked, answer: Answer): void {
    // a hand that waits for an answer does not rest
    if (asked.quick && this.#resting !== undefined) this.#awaitRest();
    this.#faults.replaceChildren();
    if (answer.ok) {
      this.#table.faults([]);
      this.#settings.faults([]);
      if ("followed" in answer) this.#drawFollowed(answer.followed);
      else {
        // the same first bore is the same object, so that nothing is drawn anew for it
        const before = this.#told;
        if (before !== undefined && sameJson(before.comparison.a.profile as unknown as Json, answer.comparison.a.profile as unknown as Json)) answer.comparison.a.profile = before.comparison.a.profile;
        this.#told = { asked, comparison: answer.comparison, curves: answer.curves };
        // the note that is looked at stays, though another may come to be noticed more
        this.#written = answer.curves.written;
        this.#drawResult();
      }
    } else this.#refused(answer.refusals);
    this.#isBehind(!answer.ok);
    document.documentElement.dataset["bore"] = !answer.ok ? "refused" : asked.quick ? "followed" : "told";
  }

  #refused(refusals: readonly Refusal[]): void {
    this.#table.faults(refusals.find(({ of }) => of === "rows")?.violations ?? []);
    const horn = this.#settings.faults(refusals.find(({ of }) => of === "horn")?.violations ?? []);
    const told = refusals.some(({ of, violations }) => of === "horn" && violations.length > horn.length);
    if (told) this.#air.open = true;
    const others = refusals.filter(({ of }) => of !== "rows" && of !== "horn");
    this.#faults.replaceChildren(...this.#refusalWords([...others, { of: "horn", violations: [...horn] }]).map((text) => el("p", { class: "fault", text })));
  }

  #refusalWords(refusals: readonly Refusal[]): string[] {
    const where = { first: "The first", second: "The second", horn: "The horn", rows: "The second bore", both: "On this horn", aim: "The aim" };
    return refusals.flatMap(({ of, violations }) => violations.map((violation) => `${where[of]}, ${violation.path}: ${faultText(violation, this.#unit)}`));
  }

  #isBehind(behind: boolean): void {
    this.#behind.hidden = !behind;
    for (const element of [this.#shifts, this.#curves]) element.classList.toggle("behind", behind);
  }

  #say(text: string, again?: () => void): void {
    const button = again === undefined ? undefined : el("button", { text: "Try again", attributes: { type: "button" }, on: { click: () => { this.#faults.replaceChildren(); again(); } } });
    this.#faults.replaceChildren(el("p", { class: "notice fault" }, el("span", { text: `${text} ` }), button));
  }

  #look(written: string): void {
    this.#written = written;
    this.#want();
  }

  // what is shown

  #drawSecond(): void {
    const first = this.#told?.comparison.a.profile ?? [];
    const necks = this.#necks();
    this.#table.render(this.#rows(), first, this.#unit);
    if (necks !== undefined && first.length > 0) this.#drawn.render({ first: { name: necks.a.name, profile: first }, second: { name: necks.b.name, rows: this.#rows() } }, this.#unit);
  }

  /** What moves with the hand, before it rests: everything else stays as the last whole comparison told it. */
  #drawFollowed({ notes, octaves, missing_cone }: Followed): void {
    if (this.#told === undefined) return;
    const { a, b, horn } = this.#told.comparison;
    this.#drawWords({ a, b: { ...b, missing_cone }, horn, notes, octaves });
    this.#shiftsPicture.render(notes, true);
  }

  #drawWords(comparison: Parameters<typeof summary>[0]): void {
    const longer = comparison.b.length_mm - comparison.a.length_mm;
    const words = summary(comparison);
    if (Math.abs(longer) >= 0.05) words.unshift(`The second neck is ${longer > 0 ? "longer" : "shorter"} by ${lengthText(Math.abs(longer), this.#unit)} ${this.#unit}, and that moves every note with it.`);
    list(this.#words, words);
  }

  #drawResult(): void {
    if (this.#told === undefined) return;
    const { comparison, curves } = this.#told;
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
    const scrolling = (name: string, ...pictures: SVGSVGElement[]) => el("div", { class: "picture-scroll", attributes: { tabindex: 0, role: "region", "aria-label": name } }, ...pictures);
    const names = () => el("ul", { class: "plot-legend" }, ...legend(a.name, b.name));
    this.#cone.replaceChildren(...coneWords(comparison, this.#unit).map((text) => el("p", { text })), coneTable(comparison, this.#unit));
    this.#along.replaceChildren(
      names(),
      scrolling("Picture of the half-angle", anglesPicture(comparison, this.#unit)),
      el("details", { class: "strain-table" }, el("summary", { text: "Both bores in numbers" }), alongTable(comparison, this.#unit)),
      el("h4", { text: "Where the vent and the ends of the wall disturb it" }),
      disturbedTable(comparison, this.#unit),
    );
    const notes = pitched(comparison);
    if (Array.from(this.#note.options, ({ value }) => value).join() !== notes.join()) this.#note.replaceChildren(...notes.map((note) => el("option", { text: note, attributes: { value: note } })));
    this.#note.value = curves.written;
    const peaks = curveWords(comparison, curves);
    this.#curves.replaceChildren(names(), scrolling("Pictures of the impedance", wholePicture(curves, peaks.join(" ")), nearPicture(curves)), el("ul", { class: "bore-words" }, ...peaks.map((text) => el("li", { text }))));
    this.#aim.render(notes, this.#choice.limits, this.#unit);
    this.#drawSecond();
  }

  // tables and files

  async #fair(): Promise<void> {
    const limit = readNumber(this.#bump.value, this.#unit);
    const necks = this.#necks();
    const wrong = limit === undefined || limit < 0;
    if (wrong) this.#bump.setAttribute("aria-invalid", "true");
    else this.#bump.removeAttribute("aria-invalid");
    if (limit === undefined || wrong) return setText(this.#tableDone, `“${this.#bump.value}” is no length: nothing was changed.`);
    if (necks === undefined) return;
    const rows = this.#rows();
    const read = await this.#asked(() => this.#core.ask("fair", { ...necks.b, csv: linesOf(rows), bumpMm: limit }));
    if (read === undefined) return;
    if (!read.ok) return setText(this.#tableDone, "What is wrong in the rows must be put right first: nothing was changed.");
    const faired = read.rows.map(({ station_mm, diameter_mm }) => ({ station_mm, diameter_mm: Number(diameter_mm.toFixed(4)) }));
    const most = Math.max(0, ...faired.map(({ diameter_mm }, index) => Math.abs(diameter_mm - (rows[index]?.diameter_mm ?? diameter_mm))));
    if (most < 0.0005) return setText(this.#tableDone, "The bore is fair as it is: nothing was changed.");
    this.#put(faired, undefined);
    const bumps = read.bumps.length === 0 ? "No bump was beyond the limit" : `Bumps were at ${read.bumps.map(({ station_mm }) => lengthText(station_mm, this.#unit)).join(", ")} ${this.#unit}`;
    setText(this.#tableDone, `${bumps}. No diameter moved by more than ${lengthText(most, this.#unit, 1)} ${this.#unit}.`);
  }

  #saveCsv(): void {
    const name = `${forFileName(this.#necks()?.b.name ?? "") || "bore"}.csv`;
    save(new TextEncoder().encode(csvOf(this.#rows())), name, "text/csv");
    setText(this.#tableDone, `${name} is written.`);
  }

  #saveAlong(): void {
    if (this.#told === undefined) return;
    save(new TextEncoder().encode(alongCsv(this.#told.comparison)), "bores.csv", "text/csv");
    setText(this.#alongDone, "bores.csv is written.");
  }

  async #openCsv(file: File): Promise<void> {
    if (file.size > LARGEST_JOB_BYTES) return this.#csvFaults.replaceChildren(el("p", { class: "fault", text: `${file.name} was not taken: it is far larger than a bore.` }));
    await this.#takeCsv(await file.text(), file.name);
  }

  async #takeCsv(csv: string, name: string): Promise<void> {
    const necks = this.#necks();
    if (necks === undefined) return;
    setText(this.#tableDone, "");
    const read = await this.#asked(() => this.#core.ask("read", { ...necks.b, csv, bumpMm: BUMP_MM }));
    if (read === undefined) return;
    if (!read.ok) {
      const faults = textFaults(read.violations, this.#unit);
      this.#csvFaults.replaceChildren(el("p", { class: "fault", text: `${name} was not taken, and nothing is changed. ${faults.length === 1 ? "One thing is" : `${faults.length} things are`} wrong:` }), el("ul", { class: "bore-words" }, ...faults.map((text) => el("li", { text }))));
      return;
    }
    this.#csvFaults.replaceChildren();
    this.#put(read.rows, undefined);
    setText(this.#tableDone, `${name}: ${read.rows.length} rows were taken.`);
  }

  async #openJob(file: File): Promise<void> {
    const read = file.size > LARGEST_JOB_BYTES ? { why: "it is far larger than a job" } : readJobText(await file.text());
    if ("why" in read) return this.#say(`${file.name} was not opened: ${read.why}.`);
    const opened = openedAs(this.#choice.jobs, "job", file.name, read.job);
    this.#remember(undefined);
    this.#table.forget();
    this.#choose({ jobs: opened.all, second: opened.id, rows: undefined });
  }

  async #openHorn(file: File): Promise<void> {
    const read = file.size > LARGEST_JOB_BYTES ? { why: "it is far larger than a horn file" } : readHornText(await file.text());
    if ("why" in read) return this.#say(`${file.name} was not opened: ${read.why}.`);
    const opened = openedAs(this.#choice.horns, "horn", file.name, read.horn);
    this.#choose({ horns: opened.all, horn: opened.id });
  }

  // towards an aim, and what is kept

  async #seek(aim: Sought): ReturnType<ConstructorParameters<typeof AimPanel>[0]> {
    const asked = this.#told?.asked;
    if (asked === undefined) return { says: ["There is no comparison yet to start from."] };
    try {
      const { quick: _, ...pair } = asked;
      const answer = await this.#core.ask("aim", { ...pair, aim });
      if (answer.ok) return { aimed: answer.aimed };
      const own = answer.refusals.flatMap(({ of, violations }) => (of === "aim" ? violations : []));
      return own.length > 0 ? { violations: own } : { says: this.#refusalWords(answer.refusals) };
    } catch (error) {
      return { says: [`The calculation broke off (${error instanceof Error ? error.message : String(error)}). Nothing was changed.`] };
    }
  }

  #takeAim(rows: readonly BoreRow[]): void {
    this.#remember(undefined);
    this.#table.forget();
    this.#choose({ second: SAME, rows: rows.map(({ station_mm, diameter_mm }) => ({ station_mm: Number(station_mm.toFixed(4)), diameter_mm: Number(diameter_mm.toFixed(4)) })) });
    setText(this.#tableDone, "The bore towards the aim is the second now.");
  }

  /** The second's job with the second bore; undefined while something in it is wrong. */
  #secondJob(): Json | undefined {
    const necks = this.#necks();
    if (necks === undefined || this.#table.hasUnread || document.documentElement.dataset["bore"] !== "told") return undefined;
    return this.#choice.rows === undefined ? necks.b.job : withRows(necks.b.job, this.#choice.rows);
  }

  #keepIt(): void {
    const job = this.#secondJob();
    if (job === undefined) return setText(this.#done, "What is wrong in it must be put right first: nothing was kept.");
    const taken = new Set(this.#variants.map(({ name }) => name));
    const wanted = this.#name.value.trim() || "Bore";
    let name = wanted;
    for (let count = 2; taken.has(name); count += 1) name = `${wanted} ${count}`;
    this.#name.value = "";
    this.keepVariant(name, job);
    setText(this.#done, `It is kept as the variant “${name}”: on the bench it stands under Variants.`);
  }

  /** The bore alone goes into the job on the bench; the core of this room says first whether it can be the bore of that neck. */
  async #toBench(): Promise<void> {
    const job = jobOf(this.bench.get());
    if (job === undefined || this.#secondJob() === undefined) return setText(this.#done, "What is wrong in it must be put right first: nothing was changed.");
    const rows = this.#rows();
    const read = await this.#asked(() => this.#core.ask("read", { name: "bench", job, csv: linesOf(rows), bumpMm: BUMP_MM }));
    if (read === undefined) return;
    if (!read.ok) return setText(this.#done, `It cannot be the bore of the neck on the bench. ${textFaults(read.violations, this.#unit).join(" ")}`);
    commit(this.bench, withRows(job, rows), "Another bore from the room Bore");
    setText(this.#done, "It is the bore of the job on the bench now; there it can be taken back as one change.");
  }

  async #asked<T>(ask: () => Promise<T>): Promise<T | undefined> {
    try {
      return await ask();
    } catch (error) {
      this.#say(`The calculation broke off (${error instanceof Error ? error.message : String(error)}). Nothing was changed.`);
      return undefined;
    }
  }
}

/** Sentences, of which those that stay are left as they are. */
function list(element: HTMLElement, texts: readonly string[]): void {
  while (element.children.length > texts.length) element.lastElementChild?.remove();
  texts.forEach((text, index) => {
    const item = element.children[index];
    if (item === undefined) element.append(el("li", { text }));
    else setText(item, text);
  });
}

/** A file among those that are open; one of the same name takes its place. */
function openedAs(before: readonly OpenedFile[], kind: string, fileName: string, json: Json): { all: readonly OpenedFile[]; id: string } {
  const name = fileName.replace(/\.json$/i, "").slice(0, LONGEST_NAME);
  const id = `${kind}-${name}`;
  return { all: [...before.filter((file) => file.id !== id), { id, name, json }], id };
}

/** Notes from the lowest to the highest. */
function pitched({ notes }: Comparison): string[] {
  return [...notes].sort((one, other) => one.register - other.register || one.a.frequency_hz - other.a.frequency_hz).map(({ written }) => written);
}
