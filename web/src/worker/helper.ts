// A second core in a thread of its own: it measures rows of the clearance list from the end, while the first measures them
// from the start.
import init, { Helper } from "../../pkg/neckwright.js";
import type { FromHelper, ToHelper } from "./helper-talk.ts";
import { turn } from "./turns.ts";

declare const self: {
  postMessage(message: FromHelper, transfer?: Transferable[]): void;
  onmessage: ((event: MessageEvent<ToHelper>) => void) | null;
};

/** Name of the wasm beside this script, put in by the build. */
declare const WASM_NAME: string;

/** How long rows are gathered before they are told: as long, at most, does the first core wait for one. */
const GATHERED_MS = 1;

let helper: Helper | undefined;
/** The round that is worked for; none that is over. */
let current: number | undefined;

function tell(round: number, gathered: readonly Float64Array[]): void {
  const rows = new Float64Array(gathered.reduce((sum, row) => sum + row.length, 0));
  let at = 0;
  for (const row of gathered) {
    rows.set(row, at);
    at += row.length;
  }
  if (at > 0) self.postMessage({ kind: "measured", round, rows }, [rows.buffer]);
}

async function measure(core: Helper, round: number, rows: readonly number[]): Promise<void> {
  let gathered: Float64Array[] = [];
  let begun = performance.now();
  for (let at = rows.length - 1; at >= 0; at -= 1) {
    const row = core.measure(rows[at] ?? 0);
    if (row !== undefined) gathered.push(row);
    if (performance.now() - begun < GATHERED_MS) continue;
    tell(round, gathered);
    await turn();
    if (current !== round) return;
    gathered = [];
    begun = performance.now();
  }
  tell(round, gathered);
}

async function take(message: ToHelper): Promise<void> {
  switch (message.kind) {
    case "job":
      current = helper?.setJob(message.job as Parameters<Helper["setJob"]>[0]) === true ? message.round : undefined;
      break;
    case "rows":
      if (helper !== undefined && current === message.round) await measure(helper, message.round, message.rows);
      break;
    case "over":
      if (current === message.round) current = undefined;
  }
}

function fail(): void {
  [helper, current] = [undefined, undefined];
  self.postMessage({ kind: "failed" });
}

self.onmessage = ({ data }) => void take(data).catch(fail);

try {
  await init({ module_or_path: new URL(WASM_NAME, import.meta.url) });
  helper = new Helper();
  self.postMessage({ kind: "ready" });
} catch {
  fail();
}
