// The rows of the list by pair: a pair that the key moves has a row for each of its poses, and is read as one thing.
import type { Clearance, ClearanceList } from "../worker/protocol.ts";

/** A pair with all its rows. */
export interface Entry {
  key: string;
  /** The worst of its rows, which speaks for it. */
  lead: Clearance;
  /** As they are told: closed, open, the least of the swing, the turned neck. */
  rows: readonly Clearance[];
}

/** Which pair a row is about. */
export function pairKey(row: Pick<Clearance, "a" | "b">): string {
  return `${row.a}|${row.b}`;
}

/** Whether a row is of the neck turned in the receiver. */
export function isTurned(row: Clearance): boolean {
  return row.horn_angle_deg !== undefined;
}

/** Whether any row of a pair is not within its limits. */
export function isFailing({ rows }: Entry): boolean {
  return rows.some((row) => !row.ok);
}

/** A name that tells a row of the list from every other, and stays the same from one neck to the next. */
export function rowKey(row: Clearance): string {
  return `${pairKey(row)}|${isTurned(row) ? "turned" : row.pose}`;
}

/** Every row of a list, those of the turned neck last. */
export function allRows(list: ClearanceList): Clearance[] {
  return [...list.pairs, ...(list.neck_turned?.pairs ?? [])];
}

/** The entries of a list are wanted by several panels each time it changes. */
const known = new WeakMap<ClearanceList, Entry[]>();

/**
 * The list as it is read: what is not within its limits first, worst first; then what hands may not place well enough; then
 * what must stay apart, by how little is left; then joints, seats and fits, which are meant to be close.
 */
export function entriesOf(list: ClearanceList): Entry[] {
  const there = known.get(list);
  if (there !== undefined) return there;
  const pairs = new Map<string, Clearance[]>();
  for (const row of allRows(list)) {
    const key = pairKey(row);
    const rows = pairs.get(key);
    if (rows === undefined) pairs.set(key, [row]);
    else rows.push(row);
  }
  const entries = [...pairs].flatMap(([key, rows]): Entry[] => {
    const lead = worstOf(rows);
    return lead === undefined ? [] : [{ key, lead, rows }];
  });
  entries.sort((one, other) => worse(one.lead, other.lead));
  known.set(list, entries);
  return entries;
}

/** The row of this name; where the list has none of its pose, the worst of its pair. */
export function rowOf(list: ClearanceList, key: string): Clearance | undefined {
  const pair = key.split("|", 2).join("|");
  const entry = entriesOf(list).find((candidate) => candidate.key === pair);
  return entry?.rows.find((row) => rowKey(row) === key) ?? entry?.lead;
}

/** The tightest of the pairs that the key moves and that must stay apart: over the whole swing, or at the angle of the list. */
export function leastOfKey(list: ClearanceList): Clearance | undefined {
  const moved = list.pairs.filter((row) => (row.pose === "swing" || row.pose === "at") && row.relation === "free" && row.required_min_mm !== null);
  return worstOf(moved);
}

export function worstOf(rows: readonly Clearance[]): Clearance | undefined {
  return rows.reduce<Clearance | undefined>((worst, row) => (worst === undefined || worse(row, worst) < 0 ? row : worst), undefined);
}

/** Negative if `a` is to be read before `b`. */
function worse(a: Clearance, b: Clearance): number {
  const [left, right] = [margin(a), margin(b)];
  return place(a) - place(b) || (left === right ? 0 : left - right);
}

function place(row: Clearance): number {
  if (!row.ok) return 0;
  if (row.by_hand_ok === false) return 1;
  return row.relation === "free" ? 2 : 3;
}

/** Distance to the nearer limit; negative when it is passed. Where nothing is asked nothing can be passed. */
function margin(row: Clearance): number {
  const [least, most] = [row.required_min_mm ?? -Infinity, row.required_max_mm ?? Infinity];
  return Math.min(row.gap_mm - row.overlap_mm - least, most - row.gap_mm);
}

const WORDS: Readonly<Record<Clearance["relation"], string>> = {
  joint: "joint",
  free: "clear",
  running: "runs",
  seat: "seated",
  thread: "thread",
  fit: "fits",
};

/** What a row says in a word. */
export function verdict(row: Clearance): string {
  if (row.ok) return WORDS[row.relation];
  if (row.state === "overlapping") return "overlap";
  if (row.gap_mm > (row.required_max_mm ?? Infinity)) return "too far";
  return row.state === "touching" ? "touching" : "too near";
}
