// The core in its own thread. It and its helper are the only files of the page that load this wasm.
import init, { jobSchema, Neck } from "../../pkg/neckwright.js";
import type { Json } from "../state/json.ts";
import { outwardOf } from "./outward.ts";
import type { Clearance, ClearanceList, FromWorker, HeldTold, PartMesh, Reply, ToWorker, Weighed } from "./protocol.ts";
import { isTrap } from "./trap.ts";
import { Turns } from "./turns.ts";
import { TwoCores } from "./two-cores.ts";

/** The little of a worker's own scope that is used here; the page's other files are typed for a window. */
declare const self: {
  postMessage(message: FromWorker, transfer: Transferable[]): void;
  addEventListener(kind: "message", listener: (event: MessageEvent<ToWorker>) => void): void;
};
/** Names of the wasm and of the helper's script beside this one, put in by the build. */
declare const WASM_NAME: string;
declare const HELPER_NAME: string;

/** Quick to make and to draw while the maker is still changing something; less than a point of the screen on the whole neck. */
const COARSE_CHORD_MM = 0.2;
/** No facet to be seen at any size the page shows. */
const FINE_CHORD_MM = 0.02;

/** None before the core is loaded, and none any more after a trap. */
let neck: Neck | undefined;
/** What was asked while the core was loading. */
let early: ToWorker[] = [];
/** Build the finer meshes belong to, and the parts that still wait for one. */
let meshing: { id: number; waiting: string[] } = { id: 0, waiting: [] };
/** A neck waits for the helper in between, and nothing else may come to the core meanwhile. */
const turns = new Turns();
const cores = new TwoCores();
/** The helper is started once, when the first neck is there and nothing is left to do: nobody waits for it. */
let helped = navigator.hardwareConcurrency < 2;

function say(message: FromWorker, transfer: Transferable[] = []): void {
  self.postMessage(message, transfer);
}

function meshOf(core: Neck, part: string, chordMm: number): PartMesh {
  const { positions, normals, indices } = core.mesh(part, chordMm);
  return { part, positions, normals, outward: outwardOf(positions, normals), indices };
}

/** Buffers are handed over and not copied. */
function buffersOf(meshes: readonly PartMesh[]): Transferable[] {
  return meshes.flatMap((mesh) => [mesh.positions.buffer, mesh.normals.buffer, mesh.outward.buffer, mesh.indices.buffer]);
}

function sendMeshes(id: number, chordMm: number, meshes: PartMesh[]): void {
  say({ kind: "meshes", id, chordMm, meshes }, buffersOf(meshes));
}

/**
 * One finer mesh, or after the last of them the joints, then back to the queue of messages, so that a newer job never waits
 * for all of them.
 */
function refine(id: number): void {
  if (neck === undefined || meshing.id !== id) return;
  const part = meshing.waiting.shift();
  if (part === undefined) {
    say({ kind: "joints", id, joints: neck.joints() });
    if (!helped) cores.start(() => new Worker(new URL(HELPER_NAME, import.meta.url), { type: "module" }));
    helped = true;
    return;
  }
  sendMeshes(id, FINE_CHORD_MM, [meshOf(neck, part, FINE_CHORD_MM)]);
  refineNext(id);
}

function refineNext(id: number): void {
  setTimeout(() => turns.add(guarded(() => refine(id))), 0);
}

/** How the neck stands, but for its meshes. */
function standing(core: Neck) {
  return { clearances: core.clearances(), unrolled: core.unrolled(), openAngleDeg: core.openAngleDeg(), axes: core.axes() };
}

/** What of it follows a part while it is moved: of the list only the rows that have changed. */
function following(core: Neck, flat: boolean): Omit<HeldTold, "chordMm" | "meshes" | "milliseconds"> & ({ clearances: ClearanceList } | { changes: string }) {
  const changes = core.clearanceChangesText();
  return { ...(changes === undefined ? { clearances: core.clearances() } : { changes }), unrolled: flat ? core.unrolled() : undefined, openAngleDeg: core.openAngleDeg(), axes: core.axes() };
}

async function build(core: Neck, id: number, job: Json): Promise<void> {
  const start = performance.now();
  const result = await cores.setJob(core, job);
  if (!result.ok) {
    say({ kind: "refused", id, violations: result.violations });
    return;
  }
  const parts = core.parts();
  const stands = standing(core);
  const milliseconds = performance.now() - start;
  const there = new Set(parts.map((part) => part.id));
  const rebuilt = result.rebuilt.filter((part) => there.has(part));
  say({ kind: "built", id, job: core.job() as unknown as Json, parts, ...stands, warnings: result.warnings, rebuilt, milliseconds });
  sendMeshes(id, COARSE_CHORD_MM, rebuilt.map((part) => meshOf(core, part, COARSE_CHORD_MM)));
  say({ kind: "measured", id, measures: core.summary().parts });
  const owed = meshing.waiting.filter((part) => there.has(part) && !rebuilt.includes(part));
  meshing = { id, waiting: [...rebuilt, ...owed] };
  refineNext(id);
}

/** In a neck of its own: the one that is shown is not touched. */
function weigh(job: Json): Weighed {
  const other = new Neck();
  try {
    const result = other.setJob(job as Parameters<Neck["setJob"]>[0]);
    return result.ok ? { ok: true, parts: other.parts(), clearances: other.clearances(), measures: other.summary().parts } : { ok: false, violations: result.violations };
  } finally {
    other.free();
  }
}

/**
 * The neck with a part held somewhere else. Nothing that can wait is done before the part is let go: the finer meshes of what
 * has changed stay owed until the next build.
 */
async function place(core: Neck, id: number, job: Json, flat: boolean): Promise<void> {
  const start = performance.now();
  const result = await cores.setJob(core, job);
  if (!result.ok) {
    say({ kind: "placed", id, held: undefined, violations: result.violations });
    return;
  }
  const stands = following(core, flat);
  const milliseconds = performance.now() - start;
  const meshes = result.rebuilt.map((part) => meshOf(core, part, COARSE_CHORD_MM));
  meshing = { id, waiting: [...new Set([...meshing.waiting, ...result.rebuilt])] };
  say({ kind: "placed", id, held: { ...stands, chordMm: COARSE_CHORD_MM, meshes, milliseconds }, violations: [] }, buffersOf(meshes));
}

function tryJob(core: Neck, id: number, job: Json): void {
  const tried = core.tryJob(job as Parameters<Neck["tryJob"]>[0]);
  say(tried.ok ? { kind: "tried", id, failing: tried.failing as Clearance[], violations: [] } : { kind: "tried", id, failing: [], violations: tried.violations });
}

function file(id: number, bytes: Uint8Array): Reply {
  return { kind: "file", id, bytes: bytes as Uint8Array<ArrayBuffer> };
}

function answer(core: Neck, request: ToWorker): Promise<void> | void {
  const { id } = request;
  switch (request.kind) {
    case "schema":
      return say({ kind: "schema", id, schema: jobSchema() as Json });
    case "build":
      return build(core, id, request.job);
    case "place":
      return place(core, id, request.job, request.flat);
    case "try-job":
      return tryJob(core, id, request.job);
    case "clearances-at":
      return say({ kind: "clearances-at", id, list: core.clearancesAt(request.keyAngleDeg) });
    case "across":
      return say({ kind: "across", id, across: core.across(request.stationMm) });
    case "changes":
      return say({ kind: "changes", id, words: core.changes(request.a, request.b) });
    case "way-out":
      return say({ kind: "way-out", id, way: core.wayOut(request.a, request.b, request.change) });
    case "weigh":
      return say({ kind: "weighed", id, weighed: weigh(request.job) });
    case "job-file":
      return say(file(id, new TextEncoder().encode(core.jobText() ?? "")));
    case "assembly-step":
      return say(file(id, core.assemblyStep()));
    case "part-step":
      return say(file(id, core.partStep(request.part)));
    case "part-stl":
      return say(file(id, core.partStl(request.part, request.chordMm)));
  }
}

/** Runs work; a trap is told and ends this worker's use, any other refusal answers the request it came from. */
function guarded(work: () => Promise<void> | void, id?: number): () => Promise<void> {
  return async () => {
    try {
      await work();
    } catch (error) {
      const message = error instanceof Error ? error.message : String(error);
      if (id === undefined || isTrap(error)) {
        neck = undefined;
        say({ kind: "trap", message });
      } else {
        say({ kind: "failed", id, message });
      }
    }
  };
}

function take(request: ToWorker): void {
  // a core that is gone was told of
  turns.add(guarded(() => (neck === undefined ? undefined : answer(neck, request)), request.id));
}

let loading = true;
self.addEventListener("message", ({ data }: MessageEvent<ToWorker>) => {
  if (neck !== undefined) take(data);
  else if (loading) early.push(data);
});
say({ kind: "awake" });

try {
  await init({ module_or_path: new URL(WASM_NAME, import.meta.url) });
  neck = new Neck();
  say({ kind: "ready" });
} catch (error) {
  say({ kind: "trap", message: error instanceof Error ? error.message : String(error) });
}
loading = false;
for (const request of early) if (neck !== undefined) take(request);
early = [];
