// What comes in from outside and says it is a job: a file, a link, a record of the browser. Looked at here only as far as the
// page itself needs it to be sound; whether its numbers can be is the core's to say, all at once.
import { isObject, type Json, valueAt } from "./json.ts";
import { inWords } from "./schema.ts";

/** A job file is some ten kilobytes; what is a hundred times that is something else. */
export const LARGEST_JOB_BYTES = 1_000_000;

/** A job is five deep. Whatever walks through a job is safe from one that is deeper than this. */
const DEEPEST = 24;

export type ReadJob = { job: Json } | { why: string };

export function readJobText(text: string): ReadJob {
  if (text.length > LARGEST_JOB_BYTES) return { why: "it is far larger than a job" };
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    return { why: "it is no job file (it cannot be read as JSON)" };
  }
  return asJob(value);
}

/** Plain JSON with the format of a job, as deep as a job may be. */
export function asJob(value: unknown): ReadJob {
  if (!isPlain(value)) return { why: "it is no job file (it is nested far deeper than a job)" };
  const format = valueAt(value, ["format"]);
  if (!isObject(value) || typeof format !== "string" || !format.startsWith("neckwright-job/")) return { why: "it is no job file (it has no format “neckwright-job/…”)" };
  return { job: value };
}

/** Whether a value is JSON all through. Level by level: one that is very deep would overrun whatever calls itself. */
function isPlain(value: unknown): value is Json {
  let level: unknown[] = [value];
  for (let depth = 0; level.length > 0; depth += 1) {
    if (depth > DEEPEST) return false;
    const next: unknown[] = [];
    for (const item of level) {
      if (typeof item === "object" && item !== null) {
        if (!Array.isArray(item) && Object.getPrototypeOf(item) !== Object.prototype) return false;
        for (const inner of Object.values(item)) next.push(inner);
      } else if (item !== null && !["string", "number", "boolean"].includes(typeof item)) return false;
    }
    level = next;
  }
  return true;
}

/** What a job is called on the order; empty where it has no number. */
export function orderNumber(job: Json | undefined): string {
  const number = valueAt(job, ["order", "number"]);
  return typeof number === "string" ? number.trim().slice(0, 60) : "";
}

/** `Job DEMO-001`, or `An alto without a number`. */
export function jobName(job: Json | undefined): string {
  const number = orderNumber(job);
  if (number !== "") return `Job ${number}`;
  const voice = valueAt(job, ["horn_voice"]);
  return typeof voice === "string" && voice !== "" ? `${inWords(voice.slice(0, 20))} without a number` : "A job without a number";
}

/** Begins the names of files: the order number, as far as a file name can hold it. */
export function fileStem(job: Json | undefined): string {
  return forFileName(orderNumber(job)) || "neck";
}

/** As much of a name as every system takes in the name of a file. */
export function forFileName(name: string): string {
  return name.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "");
}
