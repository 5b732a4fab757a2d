// A job as plain JSON: read and changed by path, never in place.

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export type JsonObject = { [key: string]: Json };

/** One step per key or row number, from the root of the job. */
export type Path = readonly (string | number)[];

/** `["centreline","pieces",1,"bend_deg"]` as `centreline.pieces[1].bend_deg`, the way violations name a parameter. */
export function pathText(path: Path): string {
  return path.reduce<string>(
    (text, step) => (typeof step === "number" ? `${text}[${step}]` : text === "" ? step : `${text}.${step}`),
    "",
  );
}

/** The path that such a text stands for. */
export function pathOf(text: string): Path {
  return [...text.matchAll(/\[(\d+)\]|[^.[\]]+/g)].map(([step, row]) => (row === undefined ? step : Number(row)));
}

export function isObject(value: Json | undefined): value is JsonObject {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** The value at a path, or undefined where the job has none. */
export function valueAt(job: Json | undefined, path: Path): Json | undefined {
  let here: Json | undefined = job;
  for (const step of path) {
    if (Array.isArray(here) && typeof step === "number") here = here[step];
    else if (isObject(here) && typeof step === "string" && Object.hasOwn(here, step)) here = here[step];
    else return undefined;
  }
  return here;
}

/** A copy with the value at a path replaced, or taken out when it is undefined. What is not on the way is shared. */
export function withValue(job: Json, path: Path, value: Json | undefined): Json {
  const [step, ...rest] = path;
  if (step === undefined) return value ?? null;
  if (typeof step === "number") {
    const rows = Array.isArray(job) ? [...job] : [];
    if (rest.length === 0 && value === undefined) rows.splice(step, 1);
    else rows[step] = withValue(rows[step] ?? null, rest, value);
    return rows;
  }
  const object: JsonObject = isObject(job) ? { ...job } : {};
  if (rest.length === 0 && value === undefined) delete object[step];
  else object[step] = withValue(object[step] ?? {}, rest, value);
  return object;
}

/** Whether two jobs say the same, whatever the order of their keys; what is left out is as null. */
export function sameJson(a: Json | undefined, b: Json | undefined): boolean {
  if (a === b || (a ?? null) === (b ?? null)) return true;
  if (Array.isArray(a) && Array.isArray(b)) return a.length === b.length && a.every((item, index) => sameJson(item, b[index]));
  if (!isObject(a) || !isObject(b)) return false;
  return [...new Set([...Object.keys(a), ...Object.keys(b)])].every((key) => sameJson(valueAt(a, [key]), valueAt(b, [key])));
}
