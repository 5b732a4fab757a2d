// What was chosen in the room for what leaves the shop: how files are made for good, the order for as long as the tab lives.
// Where the browser keeps nothing, everything begins as usual.
import { type Choices, type Entry, type Making, type PartChoice, USUAL_CHOICES, USUAL_MAKING } from "../state/send-out.ts";
import { FOR_GOOD, FOR_THE_TAB, keepChoices as keep, readChoices } from "./choices.ts";

const MAKING = "neckwright-send-out/1 making";
const ORDER = "neckwright-send-out/1 order";

const object = (value: unknown): value is Record<string, unknown> => typeof value === "object" && value !== null && !Array.isArray(value);
const entry = (value: unknown): value is Entry => typeof value === "number" || (typeof value === "string" && value.length < 200);
const text = (value: unknown): value is string => typeof value === "string" && value.length < 200;
const only = <T>(value: unknown, is: (item: unknown) => item is T): Record<string, T> => (object(value) ? Object.fromEntries(Object.entries(value).filter((pair): pair is [string, T] => is(pair[1]))) : {});

function partChoice(value: unknown): value is PartChoice {
  if (!object(value)) return false;
  const { chosen, quantity, metal, thickness_mm, temper } = value;
  return typeof chosen === "boolean" && entry(quantity) && (metal === undefined || text(metal)) && (thickness_mm === undefined || entry(thickness_mm)) && (temper === undefined || text(temper));
}

export function keptMaking(): Making {
  const { step, chord_mm, cutting, drawing } = readChoices(FOR_GOOD, MAKING);
  return {
    step: text(step) ? step : USUAL_MAKING.step,
    chord_mm: entry(chord_mm) ? chord_mm : USUAL_MAKING.chord_mm,
    cutting: only(cutting, entry),
    drawing: only(drawing, text),
  };
}

export function keepMaking(making: Making): void {
  keep(FOR_GOOD, MAKING, making);
}

/** The order of a job, if it was this job's. */
export function keptChoices(job: string): Choices {
  const { of, parts, necks, name } = readChoices(FOR_THE_TAB, ORDER);
  if (of !== job) return USUAL_CHOICES;
  return { parts: only(parts, partChoice), necks: entry(necks) ? necks : USUAL_CHOICES.necks, name: text(name) ? name : "" };
}

export function keepChoices(job: string, choices: Choices): void {
  keep(FOR_THE_TAB, ORDER, { of: job, ...choices });
}
