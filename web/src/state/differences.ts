// Where two jobs say different things, value by value.
import { isObject, type Json, type Path } from "./json.ts";

export interface Difference {
  path: Path;
  /** Undefined where the job does not give it. */
  from: Json | undefined;
  to: Json | undefined;
}

/**
 * Every value that differs, in the order of the jobs. Lists of the same length are compared row by row; of lists of other
 * lengths, and of what only one job has, the whole is one difference.
 */
export function differences(from: Json | undefined, to: Json | undefined, path: Path = []): Difference[] {
  // what is left out is as null
  if (from === to || (from ?? null) === (to ?? null)) return [];
  if (Array.isArray(from) && Array.isArray(to) && from.length === to.length) {
    return from.flatMap((row, index) => differences(row, to[index], [...path, index]));
  }
  if (isObject(from) && isObject(to)) {
    const own = (value: { [key: string]: Json }, key: string) => (Object.hasOwn(value, key) ? value[key] : undefined);
    return [...new Set([...Object.keys(from), ...Object.keys(to)])].flatMap((key) => differences(own(from, key), own(to, key), [...path, key]));
  }
  return [{ path, from: from ?? undefined, to: to ?? undefined }];
}
