// What is to leave the shop: what the maker has chosen, and the request that comes of it. The core says what is wrong with it.
import type { CuttingFinding, PackingList, Request, ShopPart, Violation } from "../worker/shop-talk.ts";
import { isObject, type Json, valueAt } from "./json.ts";
import { type Field, type Option, planOf } from "./schema.ts";

/** A number, or the text that is none: the core refuses it in its own words. */
export type Entry = number | string;

/** What is chosen of one part; what is left out is as the job has it. */
export interface PartChoice {
  chosen: boolean;
  /** For one neck. */
  quantity: Entry;
  metal?: string | undefined;
  thickness_mm?: Entry | undefined;
  temper?: string | undefined;
}

/** How files are made, whatever is sent: kept for the next order too. */
export interface Making {
  step: string;
  chord_mm: Entry;
  cutting: Readonly<Record<string, Entry>>;
  drawing: Readonly<Record<string, string>>;
}

/** One order. Parts that are not named are chosen, once for a neck, if they are on it. */
export interface Choices {
  parts: Readonly<Record<string, PartChoice>>;
  necks: Entry;
  /** What file names begin with; empty for order and serial number. */
  name: string;
}

/** The outline and the drawing of a part. */
export interface Sheets {
  part: string;
  flat: { svg: string; origin_mm: [number, number]; size_mm: [number, number]; findings: CuttingFinding[] } | undefined;
  drawing: string | undefined;
}

/** What came of packing. */
export type Packed =
  | { kind: "packed"; fileName: string; list: PackingList; zip: Uint8Array<ArrayBuffer>; forced: boolean }
  /** Parts fail a check, and nothing else is wrong. */
  | { kind: "failing"; violations: readonly Violation[] }
  /** The request is wrong; each violation is told at its field, too. */
  | { kind: "wrong"; violations: readonly Violation[] }
  | { kind: "stopped" }
  | { kind: "broken"; why: string };

export interface SendOut {
  /** The job all of this is about. */
  job: Json | undefined;
  /** The core's own words for why the job's parts could not be looked up. */
  broken: string | undefined;
  /** Why there is no neck of the job. */
  refused: readonly Violation[];
  schema: Json | undefined;
  parts: readonly ShopPart[];
  choices: Choices;
  making: Making;
  /** What is wrong with the request, as far as the core has looked. */
  wrong: readonly Violation[];
  /** Part whose sheets are looked at. */
  looked: string | undefined;
  sheets: Sheets | { part: string; why: string } | undefined;
  packing: boolean;
  packed: Packed | undefined;
}

export const USUAL_CHOICES: Choices = { parts: {}, necks: 1, name: "" };
export const USUAL_MAKING: Making = { step: "ap242", chord_mm: 0.01, cutting: {}, drawing: {} };

export function choiceOf({ choices }: Pick<SendOut, "choices">, part: ShopPart): PartChoice {
  return choices.parts[part.id] ?? { chosen: part.onTheNeck, quantity: 1 };
}

/** Parts that are chosen, in the order of the request. */
export function chosenParts(state: Pick<SendOut, "choices" | "parts">): ShopPart[] {
  return state.parts.filter((part) => choiceOf(state, part).chosen);
}

/** The request as it stands; numbers that are none go to the core as they were typed. */
export function requestOf(state: Pick<SendOut, "choices" | "making" | "parts">, force: boolean): Request {
  const { choices, making } = state;
  const parts = chosenParts(state).map((part) => {
    const { quantity, metal, thickness_mm, temper } = choiceOf(state, part);
    return { part: part.id, quantity, metal, thickness_mm, temper };
  });
  const request = { parts, necks: choices.necks, name: choices.name.trim() === "" ? undefined : choices.name.trim(), ...making, force };
  return request as unknown as Request;
}

/** Where a violation is told: `brace.thickness_mm` for a part's field, the request's own path for all others. */
export function fieldOf({ path }: Violation, chosen: readonly ShopPart[]): string {
  const [, row, field] = /^parts\[(\d+)\]\.(\w+)$/.exec(path) ?? [];
  if (row !== undefined) return `${chosen[Number(row)]?.id ?? ""}.${field}`;
  return path === "order.number" ? "name" : path;
}

/** What a field of the request may be chosen from. */
export function optionsOf(schema: Json | undefined, group: "drawing" | "parts" | "step", field: string): readonly Option[] {
  const bare = (plan: Field | undefined) => (plan?.kind === "optional" ? plan.inner : plan);
  const plan = bare(schema === undefined ? undefined : planOf(schema, group));
  if (plan?.kind === "choice") return plan.options;
  const inside = plan?.kind === "rows" ? plan.item : plan;
  const found = inside?.kind === "group" ? bare(inside.fields.find(({ key }) => key === field)?.field) : undefined;
  return found?.kind === "choice" ? found.options : [];
}

/** What a field of the request is where nothing is said. */
export function usualOf(schema: Json | undefined, path: readonly string[]): Json | undefined {
  const [group, field] = path;
  const usual = valueAt(schema, ["properties", group ?? "", "default"]);
  return field === undefined ? usual : isObject(usual) ? usual[field] : undefined;
}
