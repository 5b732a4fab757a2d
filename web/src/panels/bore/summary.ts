// The comparison in a few sentences: what goes up, what goes down, by how much, and how surely.
import { type LengthUnit, lengthText } from "../../state/lengths.ts";
import type { Comparison, NoteShift, OctaveCompared } from "../../worker/bore-talk.ts";
import { faultText } from "../parameters.ts";
import { isSure, signed } from "./told.ts";

/** A peak that changes by less is as high as before, dB. */
const SAME_DB = 0.5;
/** Octaves that change by less are as wide as before, cents. */
const SAME_CENTS = 2;

const listed = (items: readonly string[]) => (items.length < 2 ? (items[0] ?? "") : `${items.slice(0, -1).join(", ")} and ${items.at(-1)}`);

/** Sentences that say it all in short, what a player would notice first before what he would not. */
export function summary({ notes, octaves, a, b, horn, broken }: Pick<Comparison, "a" | "b" | "horn" | "broken"> & { notes: readonly NoteShift[]; octaves: readonly OctaveCompared[] }, unit: LengthUnit): string[] {
  const shift = ({ written, shift_cents, uncertainty_cents }: NoteShift) => `${written} by ${Math.abs(shift_cents).toFixed(1)}\u00a0±\u00a0${uncertainty_cents.toFixed(1)}`;
  const sure = notes.filter(isSure);
  const higher = sure.filter(({ shift_cents }) => shift_cents > 0);
  const lower = sure.filter(({ shift_cents }) => shift_cents < 0);
  const unsure = notes.filter((note) => !isSure(note));
  const words: string[] = [];
  if (higher.length > 0) words.push(`Up go ${listed(higher.map(shift))} cents.`);
  if (lower.length > 0) words.push(`Down go ${listed(lower.map(shift))} cents.`);
  if (higher.length + lower.length === 0) words.push("No note moves by more than what the diameters are known for.");
  else if (unsure.length > 0) words.push(`${listed(unsure.map(({ written }) => written))} ${unsure.length === 1 ? "moves" : "move"} by less than what the diameters are known for: whether up or down is not sure.`);
  const peaks = notes.filter(({ height_change_db }) => Math.abs(height_change_db) >= SAME_DB);
  const peak = ({ written, height_change_db }: NoteShift) => `${written} (${signed(height_change_db)} dB)`;
  words.push(peaks.length === 0 ? `Every peak stays as high, within ${SAME_DB} dB.` : `Peaks that change in height: ${listed(peaks.map(peak))}; the others stay within ${SAME_DB} dB.`);
  const known = octaves.flatMap(({ written, a: from, b: to }) => (from === null || to === null ? [] : [{ written, from: from.wide_cents, to: to.wide_cents }]));
  const octave = known.filter(({ from, to }) => Math.abs(to - from) >= SAME_CENTS);
  if (octaves.length > 0)
    words.push(
      octave.length === 0
        ? `Octaves, vent shut, stay as wide within ${SAME_CENTS} cents.`
        : `Octaves, vent shut: ${listed(octave.map(({ written, from, to }) => `over ${written} ${to > from ? "wider" : "narrower"} by ${Math.abs(to - from).toFixed(1)}`))} cents.`,
    );
  const silent = octaves.filter((one) => one.a === null || one.b === null).map(({ written }) => written);
  if (silent.length > 0) words.push(`Over ${listed(silent)} no octave can be told: one of the two has no second peak there.`);
  const [cone, other] = [a.missing_cone, b.missing_cone];
  if (cone !== null && other !== null) {
    const change = (other.volume_mm3 - cone.volume_mm3) / 1000;
    words.push(`In place of the missing cone the mouthpiece must hold ${(other.volume_mm3 / 1000).toFixed(2)} cm³ instead of ${(cone.volume_mm3 / 1000).toFixed(2)} (${signed(change, 2)}).`);
  }
  const gauge = Math.max(0, ...notes.map(({ gauge_error_cents }) => gauge_error_cents));
  words.push(`A gauge that reads both bores 0.1 mm too wide everywhere changes no shift by more than ${gauge.toFixed(1)} cents.`);
  words.push(`Both stand on the horn and in the mouthpiece of the first’s job: receiver ${lengthText(horn.receiver_bore_mm, unit)} ${unit}, shank ${lengthText(horn.shank_bore_mm, unit)} ${unit}, ${(horn.mouthpiece_volume_mm3 / 1000).toFixed(2)} cm³ beyond the neck.`);
  if (horn.not_used.length > 0) words.push(`The second’s job says otherwise, and is not asked: ${listed(horn.not_used.map(({ path, says_mm, used_mm }) => `${path} ${lengthText(says_mm, unit)} ${unit} instead of ${lengthText(used_mm, unit)}`))}.`);
  for (const one of broken) words.push(`As the second’s job stands it cannot be made: ${one.path}. ${faultText(one, unit)}`);
  if (horn.without_vent.length > 0) words.push(`${listed(horn.without_vent)} ${horn.without_vent.length === 1 ? "is" : "are"} played with an octave vent on the body, which this horn is without here: told is the second peak with every vent shut.`);
  if (horn.stand_in) words.push("A plain cone stands in for the body of the horn, without holes and bell: the difference between the two is worth more than any number by itself.");
  return words;
}
