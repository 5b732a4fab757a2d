// The shop's plug gauges as they are written: sizes in inches, and runs of thousandths from one to another.
import type { Json } from "../../state/json.ts";

const STEP = 1000;
/** More gauges than any shop has. */
const MOST = 500;

/** `0.960-0.970, 0.972` as sizes; the words themselves where they are none. */
export function readPlugs(words: string): Json {
  const sizes = new Set<number>();
  for (const part of words.split(/[,;\s]+/).filter((one) => one !== "")) {
    const [, from, to] = /^(\d*\.?\d+)(?:[-\u2013](\d*\.?\d+))?$/.exec(part) ?? [];
    if (from === undefined) return words;
    const first = Number(from);
    const count = to === undefined ? 0 : Math.round((Number(to) - first) * STEP);
    if (count < 0 || sizes.size + count > MOST) return words;
    for (let step = 0; step <= count; step++) sizes.add(Number((first + step / STEP).toFixed(5)));
  }
  return [...sizes].sort((a, b) => a - b);
}

/** The sizes as they would be written. */
export function plugsText(value: Json | undefined): string {
  if (typeof value === "string") return value;
  const sizes = Array.isArray(value) ? value.filter((one) => typeof one === "number") : [];
  const runs: number[][] = [];
  for (const size of sizes) {
    const run = runs.at(-1);
    if (run !== undefined && Math.abs(size - (run.at(-1) ?? 0) - 1 / STEP) < 1e-6) run.push(size);
    else runs.push([size]);
  }
  const text = (size: number | undefined) => (size ?? 0).toFixed(4).replace(/0$/, "");
  return runs.map((run) => (run.length < 3 ? run.map(text).join(", ") : `${text(run[0])}-${text(run.at(-1))}`)).join(", ");
}

/** The gauge after one of such a size, inches. */
export function nextPlug(value: Json | undefined, size: number): number {
  const wider = Array.isArray(value) ? value.filter((one) => typeof one === "number" && one > size + 1e-4) : [];
  return wider.length > 0 ? Math.min(...(wider as number[])) : Number((size + 1 / STEP).toFixed(4));
}
