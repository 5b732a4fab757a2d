// The room of the bores: what a second bore does beside a first on the same horn, in words, tables and pictures; the second is
// changed by hand, by a file, or towards an aim. Here its parts are joined, and the core is asked.
import type { Bench, BenchStore } from "../../state/bench.ts";
import { type BoreChoice, type BoreRow, SAME } from "../../state/bore.ts";
import { type Json, sameJson } from "../../state/json.ts";
import type { LengthUnit } from "../../state/lengths.ts";
import { standing } from "../../state/standing.ts";
import type { BoreTalk, Makeable, Neck, Pair, Refusal } from "../../worker/bore-talk.ts";
import { Newest } from "../../worker/client.ts";
import { SideCore, type SideThread } from "../../worker/side-core.ts";
import { el, setText } from "../../dom.ts";
import type { SideRoom } from "../doors.ts";
import { AimPanel, type Sought } from "./aim.ts";
import { Answers, pitched, type Told } from "./answers.ts";
import { Choosing, refusalWords } from "./choosing.ts";
import { Chosen } from "./chosen.ts";
import { BUMP_MM, Editing } from "./editing.ts";
import { Keeping } from "./keeping.ts";
import { part, ways } from "../room-parts.ts";

/** How long the hand must rest before all that is told is drawn anew, and kept. */
const REST_MS = 300;

/** `quick`: the hand is still at it, and only what it is to see at once is asked. */
type Asked = Pair & { written: string; quick: boolean };
type Answer = BoreTalk["compare"]["answer"] | BoreTalk["follow"]["answer"];

export class BoreRoom implements SideRoom {
  readonly #core: SideCore<BoreTalk>;
  readonly #newest: Newest<Asked, Answer>;
  readonly #chosen: Chosen;
  readonly #choosing: Choosing;
  readonly #answers: Answers;
  readonly #editing: Editing;
  readonly #aim: AimPanel;
  readonly #keeping: Keeping;
  readonly #line = el("p", { class: "says" });
  readonly #status = el("p", { class: "says", attributes: { role: "status" } });
  #bench: Json | undefined;
  #variants: Bench["variants"] = [];
  #unit: LengthUnit = "mm";
  #written = "";
  /** Runs when the hand has rested. */
  #resting: ReturnType<typeof setTimeout> | undefined;
  /** What is wanted last: an answer to what was wanted before is shown, and is not the last word. */
  #wanted: Asked | undefined;
  #told: (Told & { asked: Asked; usual: Makeable }) | undefined;

  constructor(bench: BenchStore, start: () => SideThread, place: HTMLElement, keepVariant: (name: string, job: Json) => void) {
    this.#core = new SideCore(start, (state) => setText(this.#status, state === "loading" ? "Loading …" : ""));
    this.#newest = new Newest<Asked, Answer>(
      ({ quick, ...asked }) => (quick ? this.#core.ask("follow", asked) : this.#core.ask("compare", asked)),
      (asked, answer) => this.#hear(asked, answer),
      () => this.#choosing.say("The bores could not be compared: the calculation broke off.", () => this.#want()),
    );
    const read = (neck: Neck, csv: string) => this.#asked(() => this.#core.ask("read", { ...neck, csv, bumpMm: BUMP_MM }));
    this.#chosen = new Chosen(() => this.#editing.says("The browser lets this page keep nothing of this room: save the bore as CSV, or keep it as a variant."));
    this.#choosing = new Choosing(this.#chosen, (change) => this.#choose(change), (change) => this.#replace({ ...change, rows: undefined }));
    this.#answers = new Answers((written) => {
      this.#written = written;
      this.#want();
    });
    this.#editing = new Editing(this.#chosen, {
      follow: (rows, going) => this.#follow(rows, going),
      settle: () => this.#settle(),
      put: (rows) => this.#replace({ rows }),
      back: () => this.#takeBack(),
      want: () => this.#want(),
      read,
      fair: (neck, csv, bumpMm) => this.#asked(() => this.#core.ask("fair", { ...neck, csv, bumpMm })),
    });
    this.#aim = new AimPanel((sought) => this.#seek(sought), (rows) => this.#takeAim(rows), (limits) => this.#chosen.change({ limits }));
    this.#keeping = new Keeping(bench, this.#chosen, () => !this.#editing.hasUnread && document.documentElement.dataset["bore"] === "told", read, keepVariant);
    place.replaceChildren(
      this.#line,
      this.#status,
      this.#choosing.element,
      ways([
        ["To the words", "bore-of-words"],
        ["To both bores", "bore-of-drawn"],
        ["To the table", "bore-of-table"],
        ["To the aim", "bore-of-aim"],
        ["To keeping", "bore-of-keeping"],
      ]),
      el("p", { class: "field-help bore-narrow", text: "Tables and pictures that are wider than the screen move sideways." }),
      el(
        "div",
        { class: "bore-room" },
        el("div", { class: "blanks-column" }, ...this.#answers.elements),
        el("div", { class: "blanks-column" }, ...this.#editing.elements, part("bore-of-aim", "Towards an aim", this.#aim.element), this.#keeping.element),
      ),
    );
  }

  render(now: Bench): void {
    const stands = standing(now);
    setText(this.#line, stands?.says ?? "There is no job on the bench yet.");
    if (stands === undefined) return;
    const { job } = stands;
    if (now.variants === this.#variants && now.unit === this.#unit && job === this.#bench) return;
    [this.#variants, this.#unit, this.#bench] = [now.variants, now.unit, job];
    this.#chosen.stand(job, now.variants);
    this.#drawChoices();
    this.#drawTold();
    this.#ask();
  }

  left(): void {
    this.#settle();
  }

  // what is changed

  #choose(change: Partial<BoreChoice>): void {
    this.#chosen.change(change);
    this.#drawChoices();
    this.#ask();
  }

  /** Another second bore, as one change that can be taken back. */
  #replace(change: Partial<BoreChoice>): void {
    this.#chosen.remember(undefined);
    this.#editing.forget();
    this.#choose(change);
  }

  #takeBack(): void {
    const before = this.#chosen.back();
    if (before === undefined) return;
    this.#editing.forget();
    this.#choose(before);
    this.#editing.focus();
  }

  /** Rows that are being moved or typed: only what the hand is to see at once comes before it rests. */
  #follow(rows: readonly BoreRow[], going: string | undefined): void {
    this.#chosen.hold(rows, going);
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
    this.#chosen.keep();
    this.#want();
  }

  #settle(): void {
    this.#chosen.settle();
    this.#rest();
  }

  #takeAim(rows: readonly BoreRow[]): void {
    this.#replace({ second: SAME, rows: rows.map(({ station_mm, diameter_mm }) => ({ station_mm: Number(station_mm.toFixed(4)), diameter_mm: Number(diameter_mm.toFixed(4)) })) });
    this.#editing.says("The bore towards the aim is the second now.");
  }

  // what is asked

  /** The rows that are shown, and the comparison, come to be those of what is chosen. */
  #ask(): void {
    const unknown = this.#chosen.unknown();
    if (unknown !== undefined) void this.#learn(unknown);
    this.#drawSecond();
    this.#want();
  }

  /** The rows of a bore that has no table. */
  async #learn(neck: Neck): Promise<void> {
    try {
      const read = await this.#core.ask("rows", neck);
      if (!read.ok) return;
      this.#chosen.learn(neck.job, read.rows);
      this.#drawSecond();
    } catch {
      // told of where the comparison is
    }
  }

  #want(): void {
    const pair = this.#chosen.pair();
    if (pair === undefined) return;
    // whatever made it another one, an aim was for what the last comparison told of
    if (this.#told !== undefined && !sameFirst(pair, this.#told.asked)) this.#aim.forget();
    document.documentElement.dataset["bore"] = "asked";
    if (this.#editing.hasUnread) {
      this.#wanted = undefined;
      this.#newest.drop();
      return this.#answers.behind(true);
    }
    const quick = this.#resting !== undefined && this.#told !== undefined;
    this.#wanted = { ...pair, written: this.#written, quick };
    this.#newest.want(this.#wanted);
  }

  #hear(asked: Asked, answer: Answer): void {
    // a hand that waits for an answer does not rest
    if (asked.quick && this.#resting !== undefined) this.#awaitRest();
    const refusals = answer.ok ? [] : answer.refusals;
    this.#refused(refusals);
    if (answer.ok && "followed" in answer) this.#answers.follow(answer.followed);
    else if (answer.ok) {
      // the same first bore is the same object, so that nothing is drawn anew for it
      const before = this.#told?.comparison.a.profile;
      if (before !== undefined && sameJson(before as unknown as Json, answer.comparison.a.profile as unknown as Json)) answer.comparison.a.profile = before;
      this.#told = { asked, comparison: answer.comparison, curves: answer.curves, usual: answer.usual };
      // the note that is looked at stays, though another may come to be noticed more
      this.#written = answer.curves.written;
      this.#drawTold();
    }
    this.#answers.behind(!answer.ok);
    if (asked === this.#wanted) document.documentElement.dataset["bore"] = !answer.ok ? "refused" : asked.quick ? "followed" : "told";
  }

  #refused(refusals: readonly Refusal[]): void {
    this.#editing.faults(refusals.find(({ of }) => of === "rows")?.violations ?? []);
    this.#choosing.refused(refusals);
  }

  async #seek(aim: Sought): ReturnType<ConstructorParameters<typeof AimPanel>[0]> {
    const pair = this.#chosen.pair();
    if (this.#told === undefined || pair === undefined || !sameFirst(pair, this.#told.asked)) return { says: ["There is no comparison of this first bore on this horn yet to start from."] };
    try {
      const answer = await this.#core.ask("aim", { ...pair, aim });
      if (answer.ok) return { aimed: answer.aimed };
      const own = answer.refusals.flatMap(({ of, violations }) => (of === "aim" ? violations : []));
      return own.length > 0 ? { violations: own } : { says: refusalWords(answer.refusals, this.#unit) };
    } catch (error) {
      return { says: [`The calculation broke off (${error instanceof Error ? error.message : String(error)}). Nothing was changed.`] };
    }
  }

  async #asked<T>(ask: () => Promise<T>): Promise<T | undefined> {
    try {
      return await ask();
    } catch (error) {
      this.#choosing.say(`The calculation broke off (${error instanceof Error ? error.message : String(error)}). Nothing was changed.`);
      return undefined;
    }
  }

  // what is shown

  #drawChoices(): void {
    this.#choosing.render(this.#unit);
    this.#keeping.render(this.#unit);
  }

  #drawSecond(): void {
    this.#editing.render(this.#told?.comparison.a.profile ?? [], this.#unit);
  }

  #drawTold(): void {
    if (this.#told === undefined) return;
    this.#answers.render(this.#told, this.#unit);
    this.#aim.render(pitched(this.#told.comparison), this.#told.usual, this.#chosen.now.limits, this.#unit);
    this.#drawSecond();
  }
}

/** What an aim starts from is the same: the first neck, and the horn it stands on. */
function sameFirst(one: Pick<Asked, "a" | "horn">, other: Pick<Asked, "a" | "horn">): boolean {
  const of = ({ a, horn }: Pick<Asked, "a" | "horn">) => [a.job, horn ?? null] as Json;
  return sameJson(of(one), of(other));
}
