// A whole job in a link: compressed, behind the #, where no server ever sees it.
import { LARGEST_JOB_BYTES, type ReadJob, readJobText } from "../state/job-file.ts";
import type { Json } from "../state/json.ts";

/** The 1 is the version of what follows. */
const MARK = "#job=1.";
/** Of any version, so that one from a newer page is told to be that. */
const ANY = /^#job=(\d+)?/;
/** A job takes some three thousand; browsers and messages stop well above that. */
const LONGEST_LINK = 200_000;

export function isLink(hash: string): boolean {
  return ANY.test(hash);
}

export async function linkOf(job: Json, address: string): Promise<string> {
  const bytes = await through(new TextEncoder().encode(JSON.stringify(job)), new CompressionStream("deflate-raw"), Infinity);
  let binary = "";
  for (const byte of bytes) binary += String.fromCharCode(byte);
  return address.replace(/#.*$/, "") + MARK + btoa(binary).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

export async function readLink(hash: string): Promise<ReadJob> {
  if (!hash.startsWith(MARK)) return { why: ANY.exec(hash)?.[1] === undefined ? "it holds no job" : "it was made by a newer version of the page" };
  if (hash.length > LONGEST_LINK) return { why: "it is far longer than one that holds a job" };
  let text: string;
  try {
    const binary = atob(hash.slice(MARK.length).replaceAll("-", "+").replaceAll("_", "/"));
    const bytes = Uint8Array.from(binary, (letter) => letter.charCodeAt(0));
    const unpacked = await through(bytes, new DecompressionStream("deflate-raw"), LARGEST_JOB_BYTES);
    if (unpacked.length > LARGEST_JOB_BYTES) return { why: "what it holds is far larger than a job" };
    text = new TextDecoder("utf-8", { fatal: true }).decode(unpacked);
  } catch {
    return { why: "part of it is missing or was changed on the way" };
  }
  const read = readJobText(text);
  return "why" in read ? { why: "what it holds is no job" } : read;
}

/** What comes out of a stream, read no further than a little past `most`: a small link may unpack to far more than fits. */
async function through(bytes: Uint8Array<ArrayBuffer>, stream: CompressionStream | DecompressionStream, most: number): Promise<Uint8Array<ArrayBuffer>> {
  const reader = new Blob([bytes]).stream().pipeThrough(stream).getReader();
  const pieces: Uint8Array[] = [];
  let length = 0;
  while (length <= most) {
    const { done, value } = await reader.read();
    if (done) break;
    pieces.push(value);
    length += value.length;
  }
  void reader.cancel().catch(() => undefined);
  const whole = new Uint8Array(length);
  let at = 0;
  for (const piece of pieces) {
    whole.set(piece, at);
    at += piece.length;
  }
  return whole;
}
