// How far a part may go along the tube before something would fail that does not fail where it is: looked for by trying,
// while the core has nothing better to do.
import type { Clearance, Reply, Request, Unrolled, Violation } from "../worker/protocol.ts";
import type { BenchStore } from "./bench.ts";
import type { Json } from "./json.ts";
import { rowKey } from "./pairs.ts";
import { jobAt, type Movable, type Spot, spotOf, stationRange } from "./places.ts";

/** What is met at the end of a stretch. */
export type End = { stationMm: number; meets: { row: Clearance } | { violation: Violation } | undefined };

export interface Room {
  part: Movable;
  /** The azimuth it was looked for at. */
  azimuthDeg: number;
  /** The job it was looked for in. */
  job: Json;
  /** Stretches in which all is clear: the one the part stands in, or where it fails, the nearest to either side. */
  stretches: readonly { from: End; to: End }[];
  /** Whether the part is clear where it stands in the job. */
  clearHere: boolean;
  looking: boolean;
}

/** No farther than this from where the part stands, mm. */
const FARTHEST_MM = 60;
/** First step, and the longest: shorter than any part is long, so that none is stepped over. */
const FIRST_MM = 0.5;
const LONGEST_MM = 2;
/** Ends are found to this, mm. */
const FINE_MM = 0.02;
/** How long a held part must rest before the core is given anything else to do. */
const REST_MS = 120;
/** Azimuths nearer than this are told as one, degrees. */
const ROUND_DEG = 0.5;

type Tried = { ok: boolean; meets: End["meets"] };

export class RoomSearch {
  #wanted: string | undefined;

  constructor(
    private readonly bench: BenchStore,
    private readonly ask: (request: Extract<Request, { kind: "try-job" }>) => Promise<Reply>,
    /** How long the held part has rested, milliseconds; without end where none is held. */
    private readonly restedMs: () => number,
  ) {}

  /** Looks for the room of a part, unless it is known or under way. */
  want(part: Movable): void {
    const { good, unrolled, room, placing } = this.bench.get();
    const spot = placing?.part === part ? placing.at : unrolled === undefined ? undefined : spotOf(good, part, unrolled);
    if (good === undefined || unrolled === undefined || spot === undefined) return;
    if (room?.part === part && room.job === good && Math.abs(room.azimuthDeg - spot.azimuthDeg) < ROUND_DEG) return;
    const name = `${part.id} ${spot.azimuthDeg} ${Math.random()}`;
    this.#wanted = name;
    this.bench.set({ room: { part, azimuthDeg: spot.azimuthDeg, job: good, stretches: [], clearHere: true, looking: true } });
    const home = spotOf(good, part, unrolled);
    void this.#look(name, part, good, unrolled, { stationMm: home?.stationMm ?? spot.stationMm, azimuthDeg: spot.azimuthDeg });
  }

  drop(): void {
    this.#wanted = undefined;
    if (this.bench.get().room !== undefined) this.bench.set({ room: undefined });
  }

  async #look(name: string, part: Movable, job: Json, unrolled: Unrolled, here: Spot): Promise<void> {
    const gone = () => this.#wanted !== name;
    /** Rows that fail where the part stands and are no matter of its place. */
    let others: ReadonlySet<string> = new Set();
    const failingAt = async (stationMm: number): Promise<{ failing: Clearance[]; violation: Violation | undefined } | undefined> => {
      do await new Promise((resolve) => setTimeout(resolve, Math.max(0, REST_MS - this.restedMs())));
      while (this.restedMs() < REST_MS && !gone());
      if (gone()) return undefined;
      const reply = await this.ask({ kind: "try-job", job: jobAt(job, part, { ...here, stationMm }, unrolled) });
      if (reply.kind !== "tried" || gone()) return undefined;
      return { failing: reply.failing, violation: reply.violations.find(({ severity }) => severity === "error") };
    };
    const tryAt = async (stationMm: number): Promise<Tried | undefined> => {
      const found = await failingAt(stationMm);
      if (found === undefined) return undefined;
      if (found.violation !== undefined) return { ok: false, meets: { violation: found.violation } };
      const row = found.failing.find((failing) => !others.has(rowKey(failing)));
      return { ok: row === undefined, meets: row === undefined ? undefined : { row } };
    };
    /** The nearest place in a direction at which it is otherwise than at `start`, and what is met there. */
    const change = async (start: number, was: boolean, direction: 1 | -1, limit: number): Promise<(End & { changed: boolean }) | undefined> => {
      let [same, step] = [start, FIRST_MM];
      for (;;) {
        if (same === limit) return { stationMm: limit, meets: undefined, changed: false };
        const next = direction * (same + direction * step) > direction * limit ? limit : same + direction * step;
        const tried = await tryAt(next);
        if (tried === undefined) return undefined;
        if (tried.ok !== was) {
          let [near, far, meets] = [same, next, tried.meets];
          while (Math.abs(far - near) > FINE_MM) {
            const middle = (near + far) / 2;
            const half = await tryAt(middle);
            if (half === undefined) return undefined;
            if (half.ok === was) near = middle;
            else [far, meets] = [middle, half.meets];
          }
          // on the side that is clear
          return { stationMm: was ? near : far, meets, changed: true };
        }
        same = next;
        step = Math.min(step * 1.5, LONGEST_MM);
      }
    };

    const range = stationRange(this.bench.get().schema, job, part, unrolled);
    const ends = [Math.max(range.from, here.stationMm - FARTHEST_MM), Math.min(range.to, here.stationMm + FARTHEST_MM)] as const;
    const rest = await failingAt(here.stationMm).catch(() => undefined);
    if (rest === undefined) return;
    others = new Set(rest.failing.filter(({ a, b }) => !part.parts.includes(a) && !part.parts.includes(b)).map(rowKey));
    const clearHere = rest.violation === undefined && rest.failing.every((row) => others.has(rowKey(row)));
    try {
      const stretches: { from: End; to: End }[] = [];
      if (clearHere) {
        const from = await change(here.stationMm, true, -1, ends[0]);
        const to = from === undefined ? undefined : await change(here.stationMm, true, 1, ends[1]);
        if (from === undefined || to === undefined) return;
        stretches.push({ from, to });
      } else {
        for (const direction of [-1, 1] as const) {
          const limit = direction < 0 ? ends[0] : ends[1];
          const near = await change(here.stationMm, false, direction, limit);
          if (near === undefined) return;
          if (!near.changed) continue;
          const far = await change(near.stationMm, true, direction, limit);
          if (far === undefined) return;
          const end = { stationMm: near.stationMm, meets: rest.failing[0] === undefined ? undefined : { row: rest.failing[0] } };
          stretches.push(direction < 0 ? { from: far, to: end } : { from: end, to: far });
        }
      }
      const { room } = this.bench.get();
      if (!gone() && room !== undefined) this.bench.set({ room: { ...room, stretches, clearHere, looking: false } });
    } catch {
      // the core has failed and is started again: nothing is shown rather than half of it
      if (!gone()) this.drop();
    }
  }
}
