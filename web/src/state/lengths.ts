// Millimetres or inches on the screen; always millimetres in the job.

export type LengthUnit = "mm" | "in";

/** By definition of the inch. */
const MM_PER_INCH = 25.4;

const fromMm = (mm: number, unit: LengthUnit) => (unit === "in" ? mm / MM_PER_INCH : mm);
const toMm = (value: number, unit: LengthUnit) => (unit === "in" ? value * MM_PER_INCH : value);

/** A measured length: hundredths of a millimetre or thousandths of an inch, as the trade reads them, or `finer` places more. */
export function lengthText(mm: number, unit: LengthUnit, finer = 0): string {
  const text = fromMm(mm, unit).toFixed((unit === "in" ? 3 : 2) + finer);
  return Number(text) === 0 ? text.replace("-", "") : text;
}

/** A volume, an area or a mass; an ellipsis while it is still being measured. */
export function measureText(value: number | undefined, places: number, unit = ""): string {
  return value === undefined ? "…" : value.toFixed(places) + unit;
}

/** A length in a field: no digits that were not given. */
export function fieldText(mm: number, unit: LengthUnit): string {
  return unit === "in" ? (mm / MM_PER_INCH).toFixed(3) : plainNumber(mm);
}

/** A limit of a range, short. */
export function limitText(mm: number, unit: LengthUnit): string {
  return unit === "in" ? String(Number((mm / MM_PER_INCH).toFixed(3))) : plainNumber(mm);
}

/** An angle in a field or a sentence, degrees: a hundredth is finer than any hand, and the job keeps what it was given. */
export function degreesText(degrees: number): string {
  return String(Number(degrees.toFixed(2)));
}

/** At most four places, without trailing zeros. */
export function plainNumber(value: number): string {
  return String(Number(value.toFixed(4)));
}

/**
 * What was typed, as a number in the parameter's own unit, or undefined when it is no number. Comma or point;
 * a length may carry its own unit ("0.028 in", "0.7 mm") whatever the page shows.
 */
export function readNumber(text: string, shown: LengthUnit | undefined): number | undefined {
  const found = /^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(mm|in|″|")?\s*$/i.exec(text);
  if (found?.[1] === undefined) return undefined;
  const value = Number(found[1].replace(",", "."));
  if (!Number.isFinite(value)) return undefined;
  const suffix = found[2]?.toLowerCase();
  if (shown === undefined) return suffix === undefined ? value : undefined;
  const unit: LengthUnit = suffix === undefined ? shown : suffix === "mm" ? "mm" : "in";
  // inches to a tenth of a micrometre, so that the job file stays readable
  return unit === "in" ? Number(toMm(value, unit).toFixed(4)) : value;
}

/** A sentence of the core, which speaks in millimetres, with its lengths in the unit the page shows. */
export function lengthsIn(sentence: string, unit: LengthUnit): string {
  if (unit === "mm") return sentence;
  const number = String.raw`-?\d+(?:\.\d+)?`;
  return sentence.replace(new RegExp(`(${number})(?: to (${number}))? mm\\b`, "g"), (_, low: string, high: string | undefined) =>
    [low, high].flatMap((mm) => (mm === undefined ? [] : [limitText(Number(mm), unit)])).join(" to ").concat(" in"),
  );
}
