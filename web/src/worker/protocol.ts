// What the page and the worker say to one another. Every request has a number and is answered once, by a reply of the
// kinds named beside it; meshes, measures and joints follow a build of their own accord.
import type { Across, Axes, ClearanceList, Finding, JointFinding, ListChanges, PartInfo, PartSummary, Unrolled, Violation, WayOut } from "../../pkg/neckwright.js";
import type { Json } from "../state/json.ts";

export type Footprint = Unrolled["footprints"][number];
export type { Across, Axes, ClearanceList, Finding, JointFinding, ListChanges, PartInfo, PartSummary, Unrolled, Violation, WayOut };
/** What the core knows of a neck beside its clearances. */
export type Findings = NonNullable<ClearanceList["findings"]>;
/** One row of the list of clearances. */
export type Clearance = ClearanceList["pairs"][number] & {
  /** Turn of the horn it was measured at: only in the rows of the turned neck. */
  horn_angle_deg?: number;
};

export type Request =
  /** The JSON Schema of the job file -> `schema`. */
  | { kind: "schema" }
  /** Builds the neck of a job (an object, or the text of a job file) -> `built` or `refused`. */
  | { kind: "build"; job: Json }
  /** Builds the neck with a part held somewhere else, for as long as it is held; the tube laid flat only where it is shown -> `placed`. */
  | { kind: "place"; job: Json; flat: boolean }
  /** What would fail with a part somewhere else; the neck stays as it is -> `tried`. */
  | { kind: "try-job"; job: Json }
  /** The clearances with the key turned to one angle -> `clearances-at`. */
  | { kind: "clearances-at"; keyAngleDeg: number }
  /** The neck across at a station -> `across`. */
  | { kind: "across"; stationMm: number }
  /** The changes that may bring a failing pair apart, in words -> `changes`. */
  | { kind: "changes"; a: string; b: string }
  /** The least of one of these changes that clears the pair and breaks nothing -> `way-out`. */
  | { kind: "way-out"; a: string; b: string; change: number }
  /** What is to be known of a job beside the one that is shown, which stays as it is -> `weighed`. */
  | { kind: "weigh"; job: Json }
  /** The last good job as a file -> `file`. */
  | { kind: "job-file" }
  /** STEP of the whole neck -> `file`. */
  | { kind: "assembly-step" }
  /** STEP of one part -> `file` or `failed`. */
  | { kind: "part-step"; part: string }
  /** Binary STL of one part, triangles within `chordMm` of its surface -> `file` or `failed`. */
  | { kind: "part-stl"; part: string; chordMm: number };

export type ToWorker = Request & { id: number };

/** Triangles of one part in millimetres, in the frame of the neck, the key closed. */
export interface PartMesh {
  part: string;
  positions: Float32Array;
  normals: Float32Array;
  /** Which way each corner moves when a line is drawn round the part. */
  outward: Float32Array;
  indices: Uint32Array;
}

export interface Built {
  kind: "built";
  id: number;
  /** The job as the core read it. */
  job: Json;
  parts: PartInfo[];
  clearances: ClearanceList;
  /** The outside of the tube laid flat. */
  unrolled: Unrolled;
  openAngleDeg: number;
  axes: Axes;
  warnings: Violation[];
  /** Parts whose shape may differ from the build before. */
  rebuilt: string[];
  /** Time in the core, building and measuring. */
  milliseconds: number;
}

/** A job beside the one that is shown: its parts, list and masses, or why there are none. */
export type Weighed = { ok: true; parts: PartInfo[]; clearances: ClearanceList; measures: PartSummary[] } | { ok: false; violations: Violation[] };

/** What is shown of a neck while a part of it is held: its list, its outside where it was asked for, and coarse meshes of what has changed. */
export interface Held {
  clearances: ClearanceList;
  unrolled: Unrolled | undefined;
  openAngleDeg: number;
  axes: Axes;
  chordMm: number;
  meshes: PartMesh[];
  milliseconds: number;
}

/** The same as the worker tells it: of a list that is known it tells what has changed, `ListChanges` as text, which is quicker on its way than objects. */
export type HeldTold = Omit<Held, "clearances"> & ({ clearances: ClearanceList } | { changes: string });

export type Reply =
  | { kind: "schema"; id: number; schema: Json }
  | Built
  | { kind: "refused"; id: number; violations: Violation[] }
  /** With the neck as it then is, or with every reason why the part cannot be there. */
  | { kind: "placed"; id: number; held: Held | undefined; violations: Violation[] }
  | { kind: "tried"; id: number; failing: Clearance[]; violations: Violation[] }
  | { kind: "clearances-at"; id: number; list: ClearanceList }
  | { kind: "across"; id: number; across: Across }
  | { kind: "changes"; id: number; words: string[] }
  /** Without a way where no size of the change will do. */
  | { kind: "way-out"; id: number; way: WayOut | undefined }
  | { kind: "weighed"; id: number; weighed: Weighed }
  | { kind: "file"; id: number; bytes: Uint8Array<ArrayBuffer> }
  /** The request cannot be met, and the neck is as it was. */
  | { kind: "failed"; id: number; message: string };

export type FromWorker =
  | Exclude<Reply, { kind: "placed" }>
  | { kind: "placed"; id: number; held: HeldTold | undefined; violations: Violation[] }
  /** The worker runs; the core is on its way, and what is asked meanwhile is answered when it is there. */
  | { kind: "awake" }
  /** The core is loaded and answers. */
  | { kind: "ready" }
  /** Meshes of parts of the build `id`: coarse ones first, finer ones after. */
  | { kind: "meshes"; id: number; chordMm: number; meshes: PartMesh[] }
  /** Volume, area and mass of the parts of the build `id`, after its coarse meshes: the view need not wait for them. */
  | { kind: "measured"; id: number; measures: PartSummary[] }
  /** How the joints of the build `id` stand, after its finer meshes: they take longer than all the rest. */
  | { kind: "joints"; id: number; joints: JointFinding[] }
  /** The core failed and this worker can do nothing more. */
  | { kind: "trap"; message: string };
