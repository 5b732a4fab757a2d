// Jobs the maker has kept under a name, and two of them side by side.
import type { ClearanceList, PartInfo, Weighed } from "../worker/protocol.ts";
import { type Difference, differences } from "./differences.ts";
import type { Json } from "./json.ts";
import { allRows, rowKey } from "./pairs.ts";
import type { Clearance } from "../worker/protocol.ts";

export interface Variant {
  id: string;
  name: string;
  job: Json;
  /** Milliseconds since 1970. */
  made: number;
  /** Taken off the list, and still there to be brought back. */
  removed: boolean;
}

/** One of the two that are compared. */
export interface Side {
  name: string;
  job: Json;
  /** Not there while it is being measured. */
  weighed: Weighed | undefined;
}

export interface Comparison {
  one: Side;
  other: Side;
  work: "measuring" | "stopped" | "failed" | "done";
}

/** A row of the list that one of the two has otherwise, or has not. */
export interface RowPair {
  key: string;
  one: Clearance | undefined;
  other: Clearance | undefined;
}

export interface MassPair {
  part: PartInfo;
  one: number | undefined;
  other: number | undefined;
}

/** Gaps that differ by less are read as the same. */
const SAME_MM = 0.005;

export function parameterDifferences({ one, other }: Comparison): Difference[] {
  return differences(one.job, other.job);
}

/**
 * Rows that differ (of two that are only known to be far apart nobody knows): those that are within their limits in one only first, then by
 * the lesser gap.
 */
export function rowDifferences(one: ClearanceList, other: ClearanceList): RowPair[] {
  const rows = new Map(allRows(one).map((row): [string, RowPair] => [rowKey(row), { key: rowKey(row), one: row, other: undefined }]));
  for (const row of allRows(other)) {
    const key = rowKey(row);
    rows.set(key, { key, one: rows.get(key)?.one, other: row });
  }
  const changes = ({ one: a, other: b }: RowPair) => (a?.ok === b?.ok ? 1 : 0);
  const least = ({ one: a, other: b }: RowPair) => Math.min(reach(a), reach(b));
  return [...rows.values()]
    .filter(({ one: a, other: b }) => a === undefined || b === undefined || a.ok !== b.ok || (Math.abs(reach(a) - reach(b)) >= SAME_MM && !(a.at_least === true && b.at_least === true)))
    .sort((a, b) => changes(a) - changes(b) || least(a) - least(b));
}

/** Gap, or how deep two parts are in one another as less than none. */
function reach(row: Clearance | undefined): number {
  return row === undefined ? Infinity : row.gap_mm - row.overlap_mm;
}

/** Masses of what is made, in the order of the parts. */
export function masses(one: Extract<Weighed, { ok: true }>, other: Extract<Weighed, { ok: true }>): MassPair[] {
  const of = (side: typeof one, id: string) => side.measures.find((measure) => measure.id === id)?.mass_g;
  const parts = new Map([...one.parts, ...other.parts].filter((part) => !part.keepout).map((part) => [part.id, part]));
  return [...parts.values()].map((part) => ({ part, one: of(one, part.id), other: of(other, part.id) }));
}
