// A part held in the hand. While it is held the core builds the neck with the part where it is, and only the newest place is
// asked for; the job on the bench keeps the old place until the part is put down, and that is one change.
import type { Held, Reply, Request, Violation } from "../worker/protocol.ts";
import type { Bearing } from "./bearing.ts";
import { type Bench, type BenchStore, commit, holdsRefused, letRefusedGo } from "./bench.ts";
import type { Json } from "./json.ts";
import { jobAt, type Movable, outsideAt, type Spot, spotOf, stationRange } from "./places.ts";

/** Why a part goes no farther: the field's own range, or what the core says of the place. */
export type Stop = { kind: "range"; fromMm: number; toMm: number } | { kind: "rule"; violation: Violation };

export interface Placing {
  part: Movable;
  by: "hand" | "keys";
  /** Where it was picked up. */
  from: Spot;
  /** Where it is: the last place that could be built. */
  at: Spot;
  stop: Stop | undefined;
  /** The way a hand is held to; undefined while it is not known, and by keys. */
  bearing: Bearing | undefined;
  /** It was let go, and the last place asked for is still being built. */
  landing: boolean;
}

/** The job with the held part where it is now; the job of the bench keeps its old place. */
export function heldJob({ placing, draft, unrolled }: Pick<Bench, "placing" | "draft" | "unrolled">): Json | undefined {
  return placing === undefined || draft === undefined || unrolled === undefined ? draft : jobAt(draft, placing.part, placing.at, unrolled);
}

/** Places nearer than this to one that is refused are not tried, mm. */
const CLOSE_MM = 0.01;

export class Placer {
  #wanted: Spot | undefined;
  /** A place that was refused, beyond which there is nothing to try. */
  #bad: { spot: Spot; stop: Stop } | undefined;
  #busy = false;
  /** When it was picked up, or the core last ended to follow it. */
  #stirred = 0;
  #moved = false;

  constructor(
    private readonly bench: BenchStore,
    private readonly ask: (request: Extract<Request, { kind: "place" }>) => Promise<Reply>,
    private readonly tell: {
      /** The neck with the part where it is now. */
      held(held: Held): void;
      /** The core begins, or has ended, to follow the hand. */
      following(follows: boolean): void;
      /** The job of the bench is to be built as it stands. */
      rebuild(): void;
    },
  ) {}

  /** How long the held part has rested, milliseconds; without end where none is held. */
  get restedMs(): number {
    if (this.bench.get().placing === undefined) return Infinity;
    return this.#busy ? 0 : performance.now() - this.#stirred;
  }

  /** Takes a part in the hand; false where the job as it stands cannot be built. */
  pickUp(part: Movable, by: Placing["by"]): boolean {
    // what was refused stands in its field alone, and is let go of when something else is done
    if (holdsRefused(this.bench.get())) letRefusedGo(this.bench);
    else if (this.bench.get().unread.size > 0) this.bench.set({ unread: new Map() });
    const { draft, unrolled, answered, violations, placing } = this.bench.get();
    const from = unrolled === undefined ? undefined : spotOf(draft, part, unrolled);
    if (placing !== undefined || from === undefined) return false;
    if (violations.length > 0 && answered?.draft === draft) {
      this.bench.set({ notice: { tone: "fault", text: "A part can be moved once the fields are right: what is wrong in them stands under the neck." } });
      return false;
    }
    this.#wanted = undefined;
    this.#bad = undefined;
    this.#moved = false;
    this.#stirred = performance.now();
    this.bench.set({ placing: { part, by, from, at: from, stop: undefined, bearing: undefined, landing: false }, keyDeg: undefined, card: part.id });
    return true;
  }

  /** Wants the part at a place, which may be out of its range. */
  moveTo(spot: Spot, bearing?: Bearing): void {
    const { placing: held, draft, unrolled, schema } = this.bench.get();
    if (held === undefined || held.landing || draft === undefined || unrolled === undefined) return;
    const placing = held.bearing === bearing ? held : { ...held, bearing };
    if (placing !== held) this.bench.set({ placing });
    const { from, to } = stationRange(schema, draft, placing.part, unrolled);
    const stationMm = Math.min(Math.max(spot.stationMm, from), to);
    // once round and on: the bottom is +180 and -180
    const azimuthDeg = placing.part.azimuthDeg ?? spot.azimuthDeg - 360 * Math.round(spot.azimuthDeg / 360);
    this.#wanted = { stationMm, azimuthDeg };
    if (stationMm !== spot.stationMm) this.bench.set({ placing: { ...placing, stop: { kind: "range", fromMm: from, toMm: to } } });
    void this.#advance();
  }

  /** One step of the arrow keys, along the tube and round it on its outside. */
  moveBy(alongMm: number, roundMm: number): void {
    const { placing, unrolled } = this.bench.get();
    if (placing === undefined || unrolled === undefined) return;
    const at = this.#wanted ?? placing.at;
    const stationMm = Number((at.stationMm + alongMm).toFixed(4));
    const round = (roundMm / outsideAt(unrolled, at.stationMm)) * (180 / Math.PI);
    this.moveTo({ stationMm, azimuthDeg: Number((at.azimuthDeg + round).toFixed(4)) });
  }

  /** The part stays where it is: one change of the job. */
  putDown(): void {
    const { placing } = this.bench.get();
    if (placing === undefined) return;
    this.bench.set({ placing: { ...placing, landing: true } });
    if (!this.#busy) this.#commit();
  }

  /** The part goes back to where it was picked up. */
  giveBack(): void {
    if (this.bench.get().placing === undefined) return;
    this.drop();
    if (this.#moved) this.tell.rebuild();
  }

  /** The part is let go of without a word: the job of the bench is being built anew anyhow. */
  drop(): void {
    this.#wanted = undefined;
    this.bench.set({ placing: undefined });
  }

  #commit(): void {
    const { placing, draft, unrolled } = this.bench.get();
    if (placing === undefined || draft === undefined || unrolled === undefined) return;
    const { part, from, at } = placing;
    this.drop();
    if (isSame(from, at)) {
      if (this.#moved) this.tell.rebuild();
    } else {
      const job = jobAt(draft, part, at, unrolled);
      // its neck is the one that is shown, and the core has built it
      this.bench.set({ good: job });
      commit(this.bench, job, changeText(part, from, at));
    }
  }

  async #advance(): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    this.tell.following(true);
    for (;;) {
      const spot = this.#next();
      const before = this.bench.get();
      if (spot === undefined || before.placing === undefined || before.draft === undefined || before.unrolled === undefined) break;
      const job: Json = jobAt(before.draft, before.placing.part, spot, before.unrolled);
      this.#moved = true;
      let reply: Reply;
      try {
        reply = await this.ask({ kind: "place", job, flat: before.flat });
      } catch {
        // a core that failed is started again with the job of the bench
        if (this.bench.get().placing !== undefined) this.drop();
        break;
      }
      const { placing, draft } = this.bench.get();
      // it was given back, or it is another one by now
      if (reply.kind !== "placed" || placing?.from !== before.placing.from || draft !== before.draft) continue;
      if (reply.held === undefined) {
        const violation = reply.violations.find(({ severity }) => severity === "error") ?? reply.violations[0];
        if (violation === undefined) continue;
        this.#bad = { spot, stop: { kind: "rule", violation } };
        this.bench.set({ placing: { ...placing, stop: this.#bad.stop } });
        continue;
      }
      const arrived = this.#wanted === undefined || isSame(spot, this.#wanted);
      if (arrived) this.#bad = undefined;
      const stop = arrived ? (placing.stop?.kind === "range" && isAtEnd(spot, placing.stop) ? placing.stop : undefined) : placing.stop;
      this.tell.held(reply.held);
      const { clearances, openAngleDeg, axes, milliseconds } = reply.held;
      const unrolled = reply.held.unrolled ?? this.bench.get().unrolled;
      this.bench.set({ clearances, unrolled, openAngleDeg, axes, milliseconds, placing: { ...placing, ...this.#now(), at: spot, stop } });
    }
    this.#busy = false;
    this.#stirred = performance.now();
    this.tell.following(false);
    // what could not be reached is not wanted any more: the way back begins where the part is
    this.#wanted = undefined;
    if (this.bench.get().placing?.landing === true) this.#commit();
  }

  /** Whether it was let go meanwhile. */
  #now(): Pick<Placing, "landing"> | undefined {
    const { placing } = this.bench.get();
    return placing === undefined ? undefined : { landing: placing.landing };
  }

  /** The place to ask for next: the one that is wanted, or half way to it where it is known to be refused. */
  #next(): Spot | undefined {
    const { placing } = this.bench.get();
    const wanted = this.#wanted;
    if (placing === undefined || wanted === undefined || isSame(wanted, placing.at)) return undefined;
    const bad = this.#bad?.spot;
    if (bad === undefined || !isBeyond(placing.at, bad, wanted)) return wanted;
    const half = (a: number, b: number) => Number(((a + b) / 2).toFixed(2));
    const middle = { stationMm: half(placing.at.stationMm, bad.stationMm), azimuthDeg: half(placing.at.azimuthDeg, bad.azimuthDeg) };
    return apart(placing.at, bad) <= CLOSE_MM || isSame(middle, placing.at) || isSame(middle, bad) ? undefined : middle;
  }
}

/** What was done, in a line. */
function changeText({ name }: Movable, from: Spot, to: Spot): string {
  const [along, round] = [to.stationMm - from.stationMm, to.azimuthDeg - from.azimuthDeg];
  const moved = Math.abs(along) < 1e-6 ? [] : [`Move the ${name} towards the ${along > 0 ? "tenon" : "cork"} by ${Math.abs(along).toFixed(2)} mm`];
  const turned = Math.abs(round) < 1e-6 ? [] : [`turn the ${name} round the tube to the player's ${round > 0 ? "left" : "right"} by ${Math.abs(round).toFixed(1)}°`];
  const words = [...moved, ...turned].join(", ");
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** A tube about as thick as a neck is: good enough to compare ways round with ways along. */
const MM_PER_DEG = 0.15;

const way = (from: Spot, to: Spot) => ({ along: to.stationMm - from.stationMm, round: (to.azimuthDeg - from.azimuthDeg) * MM_PER_DEG });

function apart(a: Spot, b: Spot): number {
  const { along, round } = way(a, b);
  return Math.hypot(along, round);
}

function isSame(a: Spot, b: Spot): boolean {
  return apart(a, b) < 1e-6;
}

/** Whether a place lies behind one that was refused, seen from where the part is. */
function isBeyond(at: Spot, bad: Spot, wanted: Spot): boolean {
  const [one, other] = [way(at, bad), way(at, wanted)];
  const length = Math.hypot(one.along, one.round);
  return length === 0 || (one.along * other.along + one.round * other.round) / length >= length - CLOSE_MM / 2;
}

function isAtEnd({ stationMm }: Spot, { fromMm, toMm }: { fromMm: number; toMm: number }): boolean {
  return stationMm <= fromMm || stationMm >= toMm;
}
