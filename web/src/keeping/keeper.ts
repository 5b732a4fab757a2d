// Keeps the bench in the browser as it changes, and finds it again. What could not be kept is said, and tried again with the
// next change; the page goes on either way.
import { type Bench, type BenchStore, settle } from "../state/bench.ts";
import { jobName, orderNumber } from "../state/job-file.ts";
import { type Json, valueAt } from "../state/json.ts";
import { STARTING_JOBS } from "../state/starting.ts";
import { NO_STEPS, withStep } from "../state/steps.ts";
import type { BrokenRecords } from "./broken.ts";
import { type BenchRecord, benchOf, isNewer, readRecord, recordOf, withoutSteps } from "./record.ts";
import { leaveWord, takeWord } from "./last-word.ts";
import { NotKept, type Shelf } from "./shelf.ts";
import { canTell, free, Neighbours, remember, remembered, take } from "./tabs.ts";

/** What is told at the start: nothing on a first visit. */
export type Found = "nothing" | "brought-back" | "copied";

const fresh = () => (crypto.randomUUID === undefined ? `${Date.now()}-${Math.random()}` : crypto.randomUUID());

export class Keeper {
  #id = fresh();
  readonly #owner = fresh();
  /** The owner that the record had when this page took it over. */
  #before: string | undefined;
  /** The draft that is in the store. */
  #written: Json | undefined;
  #busy = false;
  #again = false;
  #neighbours: Neighbours | undefined;

  constructor(
    private readonly bench: BenchStore,
    private readonly shelf: Shelf,
    private readonly broken: BrokenRecords,
    /** Builds the neck that was shown last, for when the draft cannot be built. */
    private readonly showFirst: (job: Json) => void,
  ) {}

  /** Finds the last bench and lays it out. */
  async begin(): Promise<Found> {
    let found: Found = "nothing";
    try {
      await this.shelf.open();
      found = await this.#find();
    } catch (error) {
      this.#refused(error);
    }
    remember(this.#id);
    if (canTell()) await take(this.#id, false);
    return found;
  }

  /** From here on every change is kept. */
  watch(): void {
    this.bench.subscribe((now, before) => this.#heed(now, before));
    addEventListener("pagehide", () => {
      settle(this.bench);
      const { draft, start } = this.bench.get();
      if (draft !== undefined && !start && draft !== this.#written) leaveWord(this.#id, draft, Date.now());
      void this.#write(true);
    });
    addEventListener("pageshow", ({ persisted }) => {
      if (persisted) void this.#keep();
    });
    this.#neighbours = new Neighbours(
      () => sharedName(this.bench.get()),
      (who) => this.#tellSame(who),
    );
  }

  async #find(): Promise<Found> {
    const all = await this.shelf.all("benches");
    const records = all.flatMap((value) => readRecord(value) ?? []).sort((a, b) => b.changed - a.changed);
    await this.broken.setAside("benches", all.filter((value) => readRecord(value) === undefined && !isNewer(value)));
    const own = records.find(({ id }) => id === remembered());
    // a tab that was doubled remembers the bench of the other
    if (own !== undefined) return this.#lay(own, !canTell() || (await take(own.id, true)) ? "brought-back" : "copied");
    const [newest] = records;
    if (newest === undefined) return this.#layWord();
    if (canTell() ? await take(newest.id, false) : newest.left) return this.#lay(newest, "brought-back");
    return this.#lay(newest, "copied");
  }

  /** Looks for jobs of tabs that were closed: they are nobody's, and still there. */
  async lookForLeft(): Promise<void> {
    try {
      const records = (await this.shelf.all("benches")).flatMap((value) => readRecord(value) ?? []).filter(({ id }) => id !== this.#id);
      const nobodys = canTell() ? await free(records.map(({ id }) => id)) : new Set(records.filter((record) => record.left).map(({ id }) => id));
      this.bench.set({ left: records.filter(({ id }) => nobodys.has(id)).sort((a, b) => b.changed - a.changed).map(({ id, draft, steps, at, changed }) => ({ id, job: steps[at]?.job ?? draft, changed })) });
    } catch {
      // told of beside the job itself
    }
  }

  /** Lets go of a job that another tab left. */
  async dropLeft(id: string): Promise<void> {
    this.bench.set({ left: this.bench.get().left.filter((record) => record.id !== id) });
    await this.shelf.remove("benches", id).catch((error: unknown) => this.#refused(error));
  }

  #lay(record: BenchRecord, how: "brought-back" | "copied"): Found {
    if (how === "brought-back") {
      this.#id = record.id;
      this.#before = record.owner;
    }
    if (record.good !== undefined) this.showFirst(record.good);
    const { opened } = this.bench.get();
    this.bench.set({ ...benchOf(record), opened: opened + 1, keeping: { state: "kept", at: record.changed, whole: true } });
    const word = how === "brought-back" ? takeWord(record.id) : undefined;
    if (word !== undefined && word.changed > record.changed) this.bench.set({ draft: word.draft });
    // what was being typed when the page went is a change like any other
    settle(this.bench);
    return how;
  }

  /** The first change of all may have been left in a word alone. */
  #layWord(): Found {
    const id = remembered();
    const word = id === undefined ? undefined : takeWord(id);
    if (word === undefined) return "nothing";
    const { opened } = this.bench.get();
    this.bench.set({ draft: word.draft, steps: withStep(NO_STEPS, { job: word.draft, saved: undefined, words: undefined, opens: true }), opened: opened + 1 });
    return "brought-back";
  }

  #heed(now: Bench, before: Bench): void {
    if (now.draft !== before.draft || now.start !== before.start || now.steps !== before.steps || now.good !== before.good || now.saved !== before.saved || now.aside !== before.aside || now.unit !== before.unit || now.card !== before.card) void this.#keep();
    const name = sharedName(now);
    if (now.opened !== before.opened && name !== undefined) this.#neighbours?.opened(name);
  }

  /** One write at a time; of what changed meanwhile only the newest is written. Whether all is kept stands on the page's root. */
  async #keep(): Promise<void> {
    document.documentElement.dataset["kept"] = "behind";
    if (this.#busy) {
      this.#again = true;
      return;
    }
    this.#busy = true;
    do {
      this.#again = false;
      await this.#write(false);
    } while (this.#again as boolean);
    this.#busy = false;
    if (this.bench.get().keeping.state === "kept") document.documentElement.dataset["kept"] = "all";
  }

  async #write(left: boolean): Promise<void> {
    const state = this.bench.get();
    const { draft } = state;
    // the shipped job that a first visit begins with is nothing to bring back before it was chosen or changed
    if (draft === undefined || state.start) return;
    const changed = Date.now();
    const record = recordOf({ ...state, draft }, { id: this.#id, owner: this.#owner, changed, left });
    try {
      let whole = true;
      await this.#put(record, left).catch(async (error: unknown) => {
        if (!(error instanceof NotKept) || !error.full) throw error;
        whole = false;
        await this.#put(withoutSteps(record), left);
      });
      this.#written = draft;
      this.bench.set({ keeping: { state: "kept", at: changed, whole } });
    } catch (error) {
      this.#refused(error);
    }
  }

  /** Over this page's own record only. Where another page has taken it, this one goes on under a name of its own. */
  async #put(record: BenchRecord, leaving: boolean): Promise<void> {
    // a page that goes away has no time to look first; its lock says that the record is its own
    if (leaving && canTell()) return this.shelf.put("benches", record);
    const mine = (there: unknown) => {
      const owner = readRecord(there)?.owner;
      return owner === this.#owner || owner === this.#before;
    };
    if (await this.shelf.putOver("benches", record, mine)) {
      this.#before = undefined;
      return;
    }
    this.#id = fresh();
    remember(this.#id);
    if (canTell()) void take(this.#id, false);
    await this.shelf.put("benches", { ...record, id: this.#id });
    this.#tellSame("self");
  }

  #refused(error: unknown): void {
    const why = error instanceof Error ? error.message : String(error);
    const { keeping } = this.bench.get();
    if (keeping.state !== "refused" || keeping.why !== why) this.bench.set({ keeping: { state: "refused", why, since: Date.now() } });
  }

  #tellSame(who: "other" | "self"): void {
    const name = jobName(this.bench.get().draft);
    const text = who === "self" ? `${name} is open in another tab too. Each tab keeps its own: what you change here changes nothing there.` : `${name} was opened in another tab too. Each tab keeps its own: what is changed there changes nothing here.`;
    this.bench.set({ notice: { tone: "plain", text } });
  }
}

/** A name of the job that is the same in every tab; none for what was shipped or has no number. */
function sharedName({ draft }: Bench): string | undefined {
  const shipped = Object.values(STARTING_JOBS).some((job) => job === draft);
  return draft === undefined || shipped || orderNumber(draft) === "" ? undefined : `${orderNumber(draft)} ${String(valueAt(draft, ["horn_voice"]))}`;
}
