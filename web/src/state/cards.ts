// Which fields of the job belong to which card of the page.
import type { Json } from "./json.ts";
import { isObject, valueAt } from "./json.ts";

/** A card is named by the part it is about, by a section of the job, or by one of the words below. */
export type CardId = string;

/** Cards that are about no single part. */
export const GENERAL_CARDS: readonly { id: CardId; name: string; says: string }[] = [
  { id: "order", name: "Order", says: "What stands on the order, and whether the numbers were measured." },
  { id: "neck_line", name: "Line and bore", says: "The shape of the inside, which everything else is laid on." },
  { id: "horn", name: "Horn", says: "What was measured on the horn and the mouthpiece: the neck must fit it and clear it." },
  { id: "limits", name: "Limits", says: "Gaps the work is held to, which the list is judged by, and how well parts are placed by hand." },
];

/** Sections of the job on each card. A part or section that has no line here has the card of its own name. */
const SECTIONS: ReadonlyMap<CardId, readonly string[]> = new Map([
  ["order", ["order", "horn_voice", "values_are"]],
  ["neck_line", ["centreline", "bore"]],
  ["horn", ["horn", "mouthpiece"]],
  ["limits", ["limits", "placing"]],
  ["post_left", ["posts"]],
  ["post_right", ["posts"]],
  ["hinge_tube", ["hinge"]],
  ["hinge_screw", ["hinge"]],
  ["key_arm", ["key"]],
  ["receiver", ["horn"]],
  ["clamp_screw", ["horn"]],
  ["octave_pin", ["horn"]],
  ["screwdriver_path", ["horn"]],
]);

/** Kind and version of the file: nothing to be changed by hand. */
const NOT_SHOWN = "format";

function allSections(schema: Json): string[] {
  const properties = valueAt(schema, ["properties"]);
  return isObject(properties) ? Object.keys(properties).filter((section) => section !== NOT_SHOWN) : [];
}

/** A part's name where it stands alone; in a sentence it begins small. */
export function partTitle({ name }: { name: string }): string {
  return name.charAt(0).toUpperCase() + name.slice(1);
}

/** Sections on a card, in the order of the schema. */
export function sectionsOf(card: CardId, schema: Json): string[] {
  const named = SECTIONS.get(card) ?? [card];
  return allSections(schema).filter((section) => named.includes(section));
}

/** Card a section of the job is changed on. */
export function cardOf(section: string): CardId {
  for (const [card, sections] of SECTIONS) if (sections.includes(section)) return card;
  return section;
}

/** Sections that have a card of their own though no part bears their name: a badge that is left out. */
export function sectionsWithoutPart(schema: Json, parts: readonly { id: string }[]): string[] {
  return allSections(schema).filter((section) => cardOf(section) === section && !SECTIONS.has(section) && !parts.some(({ id }) => id === section));
}
