// The core that compares bores, in a thread of its own. The only file of the page that loads its wasm.
import init, { type AimAsked, Bores, usualLimits } from "../../pkg/neckwright_bore.js";
import { type Json, sameJson } from "../state/json.ts";
import { answerWith } from "./answering.ts";
import type { BoreRead, BoreTalk, Neck, Pair, Refusal } from "./bore-talk.ts";

/** Name of the wasm beside this script, put in by the build. */
declare const WASM_NAME: string;

/** Rows of a bore that has no table of its own, mm apart. */
const EVERY_MM = 10;
/** The curves that are drawn: from below the lowest note of a baritone to beyond the third resonance of most notes. */
const WHOLE = { fromHz: 40, toHz: 1500, count: 731 };
/** How far beyond the peaks the near curve goes, as a share of their frequency: somewhat more than a semitone. */
const BEYOND = 0.07;
const NEAR_COUNT = 241;

await answerWith<BoreTalk>(async () => {
  await init({ module_or_path: new URL(WASM_NAME, import.meta.url) });
  const bores = new Bores();
  /** Reads tables without disturbing the two that are compared. */
  const aside = new Bores();
  /** What the two hold: what was refused has changed nothing of it. */
  const held: { horn?: Json; a?: Neck; b?: Neck; lines?: string | undefined } = {};

  /** Sets what is not set yet. Says everything that cannot be used. */
  const lay = ({ a, b, lines, horn }: Pair): Refusal[] => {
    const refusals: Refusal[] = [];
    const taken = (of: Refusal["of"], result: ReturnType<Bores["setHorn"]>) => {
      if (!result.ok) refusals.push({ of, violations: result.violations });
      return result.ok;
    };
    const same = (one: Neck | undefined, other: Neck) => one !== undefined && one.name === other.name && sameJson(one.job, other.job);
    if ((held.horn === undefined || !sameJson(held.horn, horn)) && taken("horn", bores.setHorn(horn as object))) held.horn = horn;
    if (!same(held.a, a) && taken("first", bores.setNeck(0, a.name, a.job as object))) held.a = a;
    const own = held.lines !== undefined && lines === undefined;
    if ((own || !same(held.b, b)) && taken("second", bores.setNeck(1, b.name, b.job as object))) [held.b, held.lines] = [b, undefined];
    // a job that cannot be used has no neck to lay rows in
    if (lines !== undefined && held.lines !== lines && same(held.b, b) && taken("rows", bores.setProfile(1, lines))) held.lines = lines;
    return refusals;
  };
  const table = (neck: Neck, work: () => ReturnType<Bores["fair"]>): BoreRead => {
    const taken = aside.setNeck(0, neck.name, neck.job as object);
    if (!taken.ok) return taken;
    const read = work();
    return read.ok ? { ok: true, rows: read.profile.rows, bumps: read.bumps, broken: read.broken } : read;
  };
  return {
    rows: (neck) =>
      table(neck, () => {
        const told = aside.profileCsv(0, EVERY_MM);
        return told.ok ? aside.readProfile(0, told.csv, 1) : told;
      }),
    read: ({ csv, bumpMm, ...neck }) => table(neck, () => aside.readProfile(0, csv, bumpMm)),
    fair: ({ csv, bumpMm, ...neck }) => table(neck, () => aside.fair(0, csv, bumpMm)),
    compare: ({ written, ...pair }) => {
      const start = performance.now();
      const refusals = lay(pair);
      if (refusals.length > 0) return { ok: false, refusals };
      const compared = bores.compare();
      if (!compared.ok) return { ok: false, refusals: [{ of: "both", violations: compared.violations }] };
      const { notes } = compared.comparison;
      const note = notes.find((one) => one.written === written) ?? notes[0];
      if (note === undefined) throw new Error("the horn asks about no note");
      const sizes = (which: number, fromHz: number, toHz: number, count: number) => {
        const told = bores.impedance(which, note.written, fromHz, toHz, count);
        if (!told.ok) throw new Error(told.violations.map(({ path, why }) => `${path}: ${why}`).join(" "));
        return told.pa_s_m3;
      };
      const curve = (fromHz: number, toHz: number, count: number) => ({ fromHz, toHz, a: sizes(0, fromHz, toHz, count), b: sizes(1, fromHz, toHz, count) });
      const [low, high] = [Math.min(note.a.frequency_hz, note.b.frequency_hz), Math.max(note.a.frequency_hz, note.b.frequency_hz)];
      const curves = { written: note.written, whole: curve(WHOLE.fromHz, WHOLE.toHz, WHOLE.count), near: curve(low * (1 - BEYOND), high * (1 + BEYOND), NEAR_COUNT) };
      return { ok: true, comparison: compared.comparison, curves, usual: usualLimits(), milliseconds: performance.now() - start };
    },
    follow: (pair) => {
      const refusals = lay(pair);
      if (refusals.length > 0) return { ok: false, refusals };
      const told = bores.follow();
      return told.ok ? told : { ok: false, refusals: [{ of: "both", violations: told.violations }] };
    },
    aim: ({ aim, ...pair }) => {
      const refusals = lay(pair);
      if (refusals.length > 0) return { ok: false, refusals };
      const aimed = bores.aim(aim as AimAsked);
      return aimed.ok ? aimed : { ok: false, refusals: [{ of: "aim", violations: aimed.violations }] };
    },
  };
});
