// The JSON Schema of the job file, read as a plan of fields. The form is drawn from this alone: a parameter that is added
// to the core appears on the page without a line being written here.
import type { Json, JsonObject } from "./json.ts";
import { isObject, valueAt } from "./json.ts";

interface Told {
  /** In the maker's words, without the unit. */
  label: string;
  /** A sentence of explanation. */
  help: string;
}

export interface NumberField extends Told {
  kind: "number";
  /** `mm`, `deg`, or what stands behind the number as it is (`N`, `°C`); empty for none. */
  unit: string;
  whole: boolean;
  min: number | undefined;
  max: number | undefined;
}

export interface Option {
  value: string;
  label: string;
  help: string;
}

export interface ChoiceField extends Told {
  kind: "choice";
  options: Option[];
}

export interface TextField extends Told {
  kind: "text";
  maxLength: number | undefined;
}

export interface Group extends Told {
  kind: "group";
  fields: { key: string; field: Field }[];
}

export interface Rows extends Told {
  kind: "rows";
  item: Field;
  min: number;
  max: number;
}

/** The same thing said in one of several ways, each a group of fields of its own. */
export interface Ways extends Told {
  kind: "ways";
  ways: Group[];
}

/** Something that may be left out (null in the job). */
export interface Optional extends Told {
  kind: "optional";
  inner: Field;
}

export type Field = NumberField | ChoiceField | TextField | Group | Rows | Ways | Optional;

/** Above this many, options are codes out of a table and are shown with their description. */
const FEW = 5;

const text = (value: Json | undefined): string | undefined => (typeof value === "string" ? value : undefined);
const number = (value: Json | undefined): number | undefined => (typeof value === "number" ? value : undefined);
const list = (value: Json | undefined): JsonObject[] => (Array.isArray(value) ? value.filter(isObject) : []);

/** `outer_diameter_mm` as `Outer diameter`: the unit stands behind the number. */
export function inWords(key: string): string {
  const words = key.replace(/_(mm|deg|n|c)$/, "").replaceAll("_", " ");
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** Plan of one section of the job; undefined where the schema has none. */
export function planOf(schema: Json, section: string): Field | undefined {
  const node = valueAt(schema, ["properties", section]);
  return isObject(node) ? read(schema, node, section) : undefined;
}

/** A node with what it refers to put in; what stands beside the reference wins. */
function resolved(schema: Json, node: JsonObject): JsonObject {
  const reference = text(node["$ref"]);
  if (reference === undefined) return node;
  const target = valueAt(schema, reference.replace(/^#\//, "").split("/"));
  return isObject(target) ? { ...resolved(schema, target), ...node, $ref: null } : node;
}

function read(schema: Json, raw: JsonObject, key: string): Field {
  const node = resolved(schema, raw);
  const told: Told = { label: inWords(key), help: text(node["description"]) ?? "" };
  const kinds = Array.isArray(node["type"]) ? node["type"].filter((kind) => kind !== "null") : [];
  if (kinds.length === 1) return { ...told, kind: "optional", inner: read(schema, { ...node, type: kinds[0] ?? null }, key) };
  const either = list(node["anyOf"] ?? node["oneOf"]);
  if (either.length > 0) return readEither(schema, either, told, key);
  if (Array.isArray(node["enum"])) {
    return { ...told, kind: "choice", options: node["enum"].map((value) => ({ value: String(value), label: inWords(String(value)), help: "" })) };
  }
  switch (text(node["type"])) {
    case "number":
    case "integer":
      return {
        ...told,
        kind: "number",
        unit: text(node["x-unit"]) ?? /_(mm|deg)$/.exec(key)?.[1] ?? "",
        whole: node["type"] === "integer",
        min: number(node["minimum"]),
        max: number(node["maximum"]),
      };
    case "array":
      return {
        ...told,
        kind: "rows",
        item: read(schema, isObject(node["items"]) ? node["items"] : {}, "row"),
        min: number(node["minItems"]) ?? 0,
        max: number(node["maxItems"]) ?? Infinity,
      };
    case "object":
      return readGroup(schema, node, { ...told, label: text(node["title"]) ?? told.label });
    default:
      return { ...told, kind: "text", maxLength: number(node["maxLength"]) };
  }
}

function readGroup(schema: Json, node: JsonObject, told: Told): Group {
  const properties = isObject(node["properties"]) ? node["properties"] : {};
  const fields = Object.entries(properties).flatMap(([key, property]) => (isObject(property) ? [{ key, field: read(schema, property, key) }] : []));
  return { ...told, kind: "group", fields };
}

function readEither(schema: Json, either: JsonObject[], told: Told, key: string): Field {
  if (either.every((option) => typeof option["const"] === "string")) {
    return { ...told, kind: "choice", options: either.map((option) => readOption(option, either.length > FEW)) };
  }
  const something = either.filter((option) => option["type"] !== "null");
  const [only] = something;
  if (something.length < either.length && only !== undefined && something.length === 1) {
    return { ...told, kind: "optional", inner: read(schema, { ...resolved(schema, only), description: told.help }, key) };
  }
  const ways = something.map((way) => {
    const node = resolved(schema, way);
    return readGroup(schema, node, { label: text(node["title"]) ?? inWords(key), help: text(node["description"]) ?? told.help });
  });
  return { ...told, kind: "ways", ways };
}

function readOption(option: JsonObject, isCode: boolean): Option {
  const value = text(option["const"]) ?? "";
  const help = text(option["description"]) ?? "";
  const phrase = help.split(/[:;.,(]/)[0]?.trim() ?? "";
  const name = inWords(value);
  const label = isCode && phrase !== "" && phrase !== name ? `${phrase} (${name})` : isCode && help !== "" ? help.replace(/\.$/, "") : name;
  return { value, label, help };
}

/** The way a value is said in: the one that shares most keys with it. */
export function wayOf(field: Ways, value: Json | undefined): number {
  const keys = new Set(isObject(value) ? Object.keys(value) : []);
  const shared = field.ways.map((way) => way.fields.filter(({ key }) => keys.has(key)).length / Math.max(way.fields.length, 1));
  return Math.max(0, shared.indexOf(Math.max(...shared)));
}

/** A value to begin with: the middle of the range, the first choice, as few rows as may be. */
export function blank(field: Field): Json {
  switch (field.kind) {
    case "number": {
      const [low, high] = [field.min ?? 0, field.max ?? field.min ?? 0];
      // lengths are more often near the small end of what is possible
      const value = low > 0 ? Math.sqrt(low * high) : (low + high) / 2;
      return field.whole ? Math.round(value) : Number(value.toPrecision(2));
    }
    case "choice":
      return field.options[0]?.value ?? "";
    case "text":
      return "";
    case "group":
      return Object.fromEntries(field.fields.map(({ key, field: inner }) => [key, blank(inner)]));
    case "rows":
      return Array.from({ length: field.min }, () => blank(field.item));
    case "ways":
      return field.ways[0] === undefined ? null : blank(field.ways[0]);
    case "optional":
      return null;
  }
}

/** A row to put after row `index`: half way to the next one, or one more step after the last. */
export function rowAfter(rows: readonly Json[], index: number): Json {
  const here = rows[index];
  if (!isObject(here)) return here ?? null;
  const next = rows[index + 1];
  const before = rows[index - 1];
  const between = (key: string, value: Json): Json => {
    if (typeof value !== "number") return value;
    const round = (result: number) => Number(result.toFixed(3));
    const after = isObject(next) ? next[key] : undefined;
    if (typeof after === "number") return round((value + after) / 2);
    const earlier = isObject(before) ? before[key] : undefined;
    return next === undefined && typeof earlier === "number" && sameKeys(here, before) ? round(2 * value - earlier) : value;
  };
  return Object.fromEntries(Object.entries(here).map(([key, value]) => [key, between(key, value)]));
}

function sameKeys(a: JsonObject, b: Json | undefined): boolean {
  return isObject(b) && Object.keys(a).join() === Object.keys(b).join();
}
