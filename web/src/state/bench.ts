// What the page knows: the job being changed, the last good neck, and what the maker is looking at.
import type { Axes, Clearance, ClearanceList, JointFinding, PartInfo, PartSummary, Unrolled, Violation } from "../worker/protocol.ts";
import type { CardId } from "./cards.ts";
import type { Json, Path } from "./json.ts";
import { pathText, sameJson, withValue } from "./json.ts";
import type { LengthUnit } from "./lengths.ts";
import { type Looking, PLAIN_LOOK } from "./looking.ts";
import { pairKey, rowOf } from "./pairs.ts";
import type { Placing } from "./placing.ts";
import type { Reach } from "./reach.ts";
import type { Room } from "./room.ts";
import { between, isSettled, NO_STEPS, type Step, stepAt, type Steps, withStep } from "./steps.ts";
import type { ShopRoomId } from "./shop-rooms.ts";
import { createStore, type Store } from "./store.ts";
import type { Comparison, Variant } from "./variants.ts";
import type { Search } from "./ways-out.ts";

/** Where the core stands with the job. */
export type Work = "loading" | "building" | "idle" | "stopped";

/** Something told to the maker that is not about one field. */
export interface Notice {
  tone: "plain" | "fault";
  text: string;
}

/** How the browser keeps what is done here. `whole`: with all that is needed to take changes back. */
export type Keeping = { state: "not-yet" } | { state: "kept"; at: number; whole: boolean } | { state: "refused"; why: string; since: number };

/** A job as it lies on the bench, with what of it is in a file or was shipped. */
export interface Aside {
  draft: Json;
  saved: Json | undefined;
}

export interface Bench {
  /** The room of the shop the maker is in. */
  shopRoom: ShopRoomId;
  work: Work;
  notice: Notice | undefined;
  keeping: Keeping;
  /** Records of the browser that could not be read, as they were found. */
  broken: readonly { id: string; text: string }[];
  /** Jobs of tabs that were closed. */
  left: readonly { id: string; job: Json; changed: number }[];
  /** The page works without a network. */
  offline: boolean;
  /** A newer page waits to be taken. */
  newer: boolean;
  variants: readonly Variant[];
  /** Two jobs side by side. */
  comparison: Comparison | undefined;
  /** A first visit on which nothing was chosen or changed yet. */
  start: boolean;
  schema: Json | undefined;
  /** How many jobs have been opened or started: the view shows the whole of each new one. */
  opened: number;
  /** The job as the fields show it; it may hold faults. */
  draft: Json | undefined;
  /** The changes so far. The draft is ahead of them while something is being typed, and as long as it holds what was refused. */
  steps: Steps;
  /** The draft that the core has answered last, and whether there is a neck of it. */
  answered: { draft: Json; ok: boolean } | undefined;
  /** The steps before those that the core has not answered yet; they are taken from the way back again if it refuses them. */
  unproved: Steps | undefined;
  /** Parameter path of what is being typed. */
  typing: string | undefined;
  /** The draft as it was opened, started or last saved. */
  saved: Json | undefined;
  /** The last job that was replaced with changes no file has; it can be taken back. */
  aside: Aside | undefined;
  /** Job of the neck that is shown. */
  good: Json | undefined;
  /** What the core says of the draft: nothing, or why the neck shown is still the one before. */
  violations: readonly Violation[];
  warnings: readonly Violation[];
  /** Fields whose text is no number, by parameter path; the draft keeps their last value. */
  unread: ReadonlyMap<string, string>;
  parts: readonly PartInfo[];
  /** Volume, area and mass by part; those of a part that was just rebuilt come a moment after it. */
  measures: ReadonlyMap<string, PartSummary>;
  clearances: ClearanceList | undefined;
  /** The outside of the tube laid flat. */
  unrolled: Unrolled | undefined;
  /** The part that is held and moved; the draft has its old place until it is put down. */
  placing: Placing | undefined;
  /** How far the part that was chosen or picked up last may go. */
  room: Room | undefined;
  /** How far the number in the field with the focus may go on this neck. */
  reach: Reach | undefined;
  /** The tube laid flat is shown. */
  flat: boolean;
  /** How the joints stand; those of a neck that was just built come last of all, and until then the ones before are kept. */
  joints: { list: readonly JointFinding[]; measuring: boolean };
  /** The search for a way out of a failing pair, until the job changes. */
  search: Search | undefined;
  /** The pair a way out was taken for, until the neck with it stands: what is left of its gap is told then. */
  taken: { a: string; b: string; job: Json } | undefined;
  /** Turn of the key from closed to open, degrees. */
  openAngleDeg: number;
  /** What key and horn turn about. */
  axes: Axes | undefined;
  /** Where the maker has put the key, degrees; undefined while the list is about the whole swing. */
  keyDeg: number | undefined;
  /** The list at one angle of the key, the last one measured; it may still be on its way to `keyDeg`. */
  atAngle: { deg: number; list: ClearanceList } | undefined;
  /** Time the core took for the neck shown. */
  milliseconds: number;
  unit: LengthUnit;
  card: CardId;
  /** Row of the list the view has gone to, by its key. */
  row: string | undefined;
  /** Joint the view has gone to, by its pair; never while it has gone to a row. */
  joint: string | undefined;
  hidden: ReadonlySet<string>;
  names: boolean;
  looking: Looking;
}

export type BenchStore = Store<Bench>;

export function createBench(): BenchStore {
  return createStore<Bench>({
    shopRoom: "bench",
    work: "loading",
    notice: undefined,
    keeping: { state: "not-yet" },
    broken: [],
    left: [],
    offline: false,
    newer: false,
    variants: [],
    comparison: undefined,
    start: false,
    schema: undefined,
    opened: 0,
    draft: undefined,
    steps: NO_STEPS,
    answered: undefined,
    unproved: undefined,
    typing: undefined,
    saved: undefined,
    aside: undefined,
    good: undefined,
    violations: [],
    warnings: [],
    unread: new Map(),
    parts: [],
    measures: new Map(),
    clearances: undefined,
    unrolled: undefined,
    placing: undefined,
    room: undefined,
    reach: undefined,
    flat: false,
    joints: { list: [], measuring: true },
    search: undefined,
    taken: undefined,
    openAngleDeg: 0,
    axes: undefined,
    keyDeg: undefined,
    atAngle: undefined,
    milliseconds: 0,
    unit: "mm",
    card: "neck_line",
    row: undefined,
    joint: undefined,
    hidden: new Set(["mouthpiece", "receiver", "clamp_screw", "octave_pin", "screwdriver_path"]),
    names: true,
    looking: PLAIN_LOOK,
  });
}

/** What was told of the change before is old news; what went wrong stays until it is closed. */
function withoutNews({ notice }: Bench): Notice | undefined {
  return notice?.tone === "plain" ? undefined : notice;
}

/** What is being typed into a field: the neck follows it at once, but it is no change of its own before `settle`. */
export function edit(bench: BenchStore, path: Path, value: Json | undefined): void {
  const typing = pathText(path);
  if (bench.get().typing !== typing) settle(bench);
  const state = bench.get();
  if (state.draft !== undefined) bench.set({ draft: withValue(state.draft, path, value), typing, start: false, notice: withoutNews(state) });
}

/** Whether the core has refused the job as the fields show it. */
export function isRefused({ draft, answered }: Pick<Bench, "draft" | "answered">): boolean {
  return draft !== undefined && answered?.draft === draft && !answered.ok;
}

/** Whether fields hold a value that was refused: it changes nothing but its field. A job that was opened with its faults is a job all the same. */
export function holdsRefused(state: Pick<Bench, "draft" | "answered" | "steps">): boolean {
  return isRefused(state) && !isSettled(state.steps, state.draft);
}

/** The job as it counts: what is saved, sent, compared and put aside. What was refused is not in it. */
export function jobOf(state: Pick<Bench, "draft" | "answered" | "steps">): Json | undefined {
  return holdsRefused(state) ? stepAt(state.steps)?.job : state.draft;
}

/** What was refused is let go of, and its fields show what stands again. */
export function letRefusedGo(bench: BenchStore): void {
  const state = bench.get();
  if (holdsRefused(state)) bench.set({ draft: jobOf(state), typing: undefined, unread: new Map() });
}

/** The core has answered for a draft. A change that it refuses is no step: what was typed stays in its field, and nowhere else. */
export function hear(bench: BenchStore, asked: Json, ok: boolean, news: Partial<Bench>): void {
  const { draft, steps, unproved } = bench.get();
  if (asked !== draft) return bench.set(news);
  const withdrawn = !ok && unproved !== undefined && isSettled(steps, draft);
  bench.set({ ...news, answered: { draft: asked, ok }, unproved: undefined, ...(withdrawn ? { steps: unproved } : {}) });
}

/** One step more; until the core has answered for it the way back without it is kept. */
function stepped({ draft, steps, answered, unproved }: Bench, step: Step): Pick<Bench, "steps" | "unproved"> {
  const proved = step.job === draft && answered?.draft === draft && answered.ok;
  return { steps: withStep(steps, step), unproved: proved ? unproved : (unproved ?? steps) };
}

/** What was typed is done: from here on it can be taken back as one change. */
export function settle(bench: BenchStore): void {
  const state = bench.get();
  const { draft, steps, saved, typing } = state;
  if (draft === undefined || isSettled(steps, draft) || isRefused(state)) {
    if (typing !== undefined) bench.set({ typing: undefined });
  } else {
    bench.set({ ...stepped(state, { job: draft, saved, words: undefined, opens: false }), typing: undefined });
  }
}

/**
 * One whole change of the job: a choice made, a row added, a part let go where it was dragged to. It can be taken back as one.
 * `words` say what it was ("Move the badge towards the tenon by 9.28 mm"); without them the two jobs say it.
 */
export function commit(bench: BenchStore, job: Json, words?: string): void {
  settle(bench);
  const state = bench.get();
  if (isSettled(state.steps, job)) return;
  bench.set({ draft: job, ...stepped(state, { job, saved: state.saved, words, opens: false }), start: false, notice: withoutNews(state) });
}

/** Takes the last change back, or does again the one that was taken back last. */
export function goStep(bench: BenchStore, which: "back" | "again"): void {
  settle(bench);
  // what stands in a field and was refused is taken back first
  if (holdsRefused(bench.get())) return letRefusedGo(bench);
  const state = bench.get();
  const { steps, opened, saved, aside } = state;
  const change = between(steps, which);
  if (change === undefined) return;
  const step = which === "back" ? change.from : change.to;
  bench.set({
    draft: step.job,
    steps: { ...steps, at: steps.at + (which === "back" ? -1 : 1) },
    unproved: undefined,
    unread: new Map(),
    notice: withoutNews(state),
    // a job that lies on the bench again is not put aside as well
    aside: sameJson(aside?.draft, step.job) ? undefined : aside,
    ...(change.to.opens ? { saved: step.saved, opened: opened + 1, row: undefined, joint: undefined, keyDeg: undefined } : { saved }),
  });
}

/** Whether the draft holds changes that no file has. */
export function isUnsaved(state: Pick<Bench, "draft" | "saved" | "answered" | "steps">): boolean {
  const job = jobOf(state);
  return job !== state.saved && !sameJson(job, state.saved);
}

/** Lays another job on the bench; the one that lay there is put aside if it holds changes no file has. */
export function putJob(bench: BenchStore, job: Aside, words: string, text?: string): void {
  settle(bench);
  const before = bench.get();
  const { saved, steps } = before;
  const lay = jobOf(before);
  // nothing is put aside for a job that is the same
  const puts = lay !== undefined && isUnsaved(before) && !sameJson(lay, job.draft);
  bench.set({
    ...job,
    steps: withStep(steps, { job: job.draft, saved: job.saved, words, opens: true }),
    unproved: undefined,
    typing: undefined,
    aside: puts ? { draft: lay, saved } : before.aside === job ? undefined : before.aside,
    opened: before.opened + 1,
    unread: new Map(),
    start: false,
    row: undefined,
    joint: undefined,
    keyDeg: undefined,
    notice: text === undefined ? withoutNews(before) : { tone: "plain", text },
  });
}

/** Notes that a field holds no number, or (undefined) that it does again. */
export function markUnread(bench: BenchStore, path: string, text: string | undefined): void {
  const { unread } = bench.get();
  if (text === undefined && !unread.has(path)) return;
  const changed = new Map(unread);
  if (text === undefined) changed.delete(path);
  else changed.set(path, text);
  bench.set({ unread: changed });
}

/** The list that is read: of the whole swing, or of the one angle the key was put to. */
export function shownList({ keyDeg, atAngle, clearances }: Pick<Bench, "keyDeg" | "atAngle" | "clearances">): ClearanceList | undefined {
  return keyDeg === undefined ? clearances : (atAngle?.list ?? clearances);
}

/** The row that is looked at, in the list that is read. */
export function chosenRow(state: Bench): Clearance | undefined {
  const list = shownList(state);
  return state.row === undefined || list === undefined ? undefined : rowOf(list, state.row);
}

/** The joint that is looked at. */
export function chosenJoint({ joint, joints }: Pick<Bench, "joint" | "joints">): JointFinding | undefined {
  return joint === undefined ? undefined : joints.list.find((candidate) => pairKey(candidate) === joint);
}

/** Turn of the key in the view: where the maker has put it, or else where the row that is looked at was measured. */
export function keyDegOf(state: Bench): number {
  return state.keyDeg === undefined ? (chosenRow(state)?.key_angle_deg ?? 0) : Math.min(state.keyDeg, state.openAngleDeg);
}
