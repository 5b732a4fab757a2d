// What is chosen in the room of the bores: which two necks, on which horn, and the second's bore as it was changed, with the way
// back.
import { keepBores, keptBores } from "../../keeping/bore.ts";
import type { Bench } from "../../state/bench.ts";
import { BENCH, type BoreChoice, type BoreRow, CONE, CONE_HORN, linesOf, SAME, SHIPPED, SHIPPED_HORN, tableOf, withSet } from "../../state/bore.ts";
import { jobName } from "../../state/job-file.ts";
import { type Json, sameJson, valueAt } from "../../state/json.ts";
import type { Neck, Pair } from "../../worker/bore-talk.ts";

/** Changes of the second bore that can be taken back. */
const MOST_BACK = 200;

type Second = Pick<BoreChoice, "second" | "rows">;

export class Chosen {
  #now: BoreChoice = keptBores();
  #kept = true;
  #bench: Json | undefined;
  #variants: Bench["variants"] = [];
  /** The bore of the second's own job, as rows. */
  #own: { job: Json; rows: readonly BoreRow[] } | undefined;
  #past: Second[] = [];
  /** The cell or point whose changes are one change. */
  #going: string | undefined;

  constructor(
    /** The browser lets the page keep nothing. */
    private readonly cannotKeep: () => void,
  ) {}

  get now(): BoreChoice {
    return this.#now;
  }

  get canGoBack(): boolean {
    return this.#past.length > 0;
  }

  get variants(): Bench["variants"] {
    return this.#variants;
  }

  /** What stands on the bench, and what is kept there. */
  stand(job: Json, variants: Bench["variants"]): void {
    [this.#bench, this.#variants] = [job, variants];
    if (this.#now.second === "") this.#now = { ...this.#now, second: valueAt(job, ["horn_voice"]) === "alto" ? "shipped-more-open" : SAME };
  }

  change(change: Partial<BoreChoice>): void {
    this.#now = { ...this.#now, ...change };
    this.keep();
  }

  /** Rows that are being moved or typed; kept when the hand rests. */
  hold(rows: readonly BoreRow[], going: string | undefined): void {
    this.remember(going);
    this.#now = { ...this.#now, rows };
  }

  keep(): void {
    const kept = keepBores(this.#now);
    if (!kept && this.#kept) this.cannotKeep();
    this.#kept = kept;
  }

  remember(going: string | undefined): void {
    if (going !== undefined && going === this.#going) return;
    this.#going = going;
    const { second, rows } = this.#now;
    this.#past = [...this.#past, { second, rows }].slice(-MOST_BACK);
  }

  /** What was being moved or typed is one whole change. */
  settle(): void {
    this.#going = undefined;
  }

  /** The second bore before the last change, which is forgotten. */
  back(): Second | undefined {
    const before = this.#past.at(-1);
    this.#past = this.#past.slice(0, -1);
    this.#going = undefined;
    return before;
  }

  sources(): readonly { id: string; name: string; job: Json }[] {
    const variants = this.#variants.filter(({ removed }) => !removed).map(({ id, name, job }) => ({ id: `variant-${id}`, name, job }));
    const opened = this.#now.jobs.map(({ id, name, json }) => ({ id, name, job: json }));
    return [...(this.#bench === undefined ? [] : [{ id: BENCH, name: `On the bench: ${jobName(this.#bench)}`, job: this.#bench }]), ...SHIPPED, ...variants, ...opened];
  }

  horns(): readonly { id: string; name: string; horn: Json }[] {
    return [{ id: CONE, name: "A plain cone stands in", horn: CONE_HORN }, SHIPPED_HORN, ...this.#now.horns.map(({ id, name, json }) => ({ id, name, horn: json }))];
  }

  /** The horn's file as it is chosen. */
  hornFile(): Json {
    return this.horns().find(({ id }) => id === this.#now.horn)?.horn ?? CONE_HORN;
  }

  necks(): { a: Neck; b: Neck } | undefined {
    const sources = this.sources();
    const a = sources.find(({ id }) => id === this.#now.first) ?? sources[0];
    const chosen = this.#now.second === SAME ? a : sources.find(({ id }) => id === this.#now.second);
    if (a === undefined) return undefined;
    const b = chosen ?? a;
    const changed = this.#now.rows !== undefined;
    const name = b === a ? (changed ? `${a.name}, changed` : `${a.name}, once more`) : changed ? `${b.name}, changed` : b.name;
    return { a: { name: a.name, job: a.job }, b: { name, job: b.job } };
  }

  /** All that a comparison depends on. */
  pair(): Pair | undefined {
    const necks = this.necks();
    if (necks === undefined) return undefined;
    return { ...necks, lines: this.#now.rows === undefined ? undefined : linesOf(this.#now.rows), horn: withSet(this.hornFile(), this.#now.set) };
  }

  /** The second bore as it is now. */
  rows(): readonly BoreRow[] {
    return this.#now.rows ?? this.#own?.rows ?? [];
  }

  /** The second neck, if its job has no table of its bore and its rows are not known yet. */
  unknown(): Neck | undefined {
    const b = this.necks()?.b;
    if (b === undefined || (this.#own !== undefined && sameJson(this.#own.job, b.job))) return undefined;
    const table = tableOf(b.job);
    this.#own = table === undefined ? undefined : { job: b.job, rows: table };
    return table === undefined ? b : undefined;
  }

  /** The rows of a bore that has no table; those of another neck come too late. */
  learn(job: Json, rows: readonly BoreRow[]): void {
    if (sameJson(this.necks()?.b.job, job)) this.#own = { job, rows };
  }
}
