// What is known of blanks and lays, in sentences.
import { type LengthUnit, lengthsIn, lengthText } from "../../state/lengths.ts";
import type { BlankView, LayReport } from "../../worker/blanks-talk.ts";

const percent = (strain: number) => `${(Math.abs(Math.exp(strain) - 1) * 100).toFixed(1)} %`;

function placeText(at: { station_mm: number; azimuth_deg: number }, unit: LengthUnit): string {
  return `station ${lengthText(at.station_mm, unit)} ${unit}, ${at.azimuth_deg.toFixed(0)}° from the top`;
}

/** Least and greatest of what sources say; one number where they agree. */
const range = (ends: readonly string[]) => [...new Set(ends)].join(" to ");

const begun = (words: string) => words.charAt(0).toUpperCase() + words.slice(1);

/** What the blank is. */
export function blankWords(view: BlankView, unit: LengthUnit): string {
  const [length = 0, width = 0] = view.sizeMm;
  const size = `${lengthText(length, unit)} × ${lengthText(width, unit)} ${unit}`;
  return `Right half shell of order ${view.order === "" ? "without a number" : view.order}, seen from outside, cork end to the left; the left one is this one turned over. ${begun(view.metalName)}, ${lengthText(view.thicknessMm, unit)} ${unit}. It takes ${size} of sheet, ${(view.areaMm2 / 100).toFixed(1)} cm².`;
}

/** What forming it costs, a sentence each. */
export function costWords(view: BlankView, unit: LengthUnit): { text: string; fails: boolean }[] {
  const { costs } = view;
  const { rounds } = costs;
  const plain = (text: string) => ({ text, fails: false });
  const said = [
    plain(`A: greatest stretch ${percent(costs.greatest_stretch.value)} at ${placeText(costs.greatest_stretch, unit)}.`),
    plain(`B: greatest shrink ${percent(costs.greatest_shrink.value)} at ${placeText(costs.greatest_shrink, unit)}.`),
    plain(
      `After forming it is ${lengthText(costs.thinnest_mm.value, unit)} ${unit} thick at its thinnest (${placeText(costs.thinnest_mm, unit)}) and ${lengthText(costs.thickest_mm.value, unit)} ${unit} at its thickest (${placeText(costs.thickest_mm, unit)}).`,
    ),
  ];
  if (rounds.rounds !== null) {
    const between = rounds.rounds === 1 ? "no anneal between" : rounds.rounds === 2 ? "an anneal between the two" : `an anneal after each of the first ${rounds.rounds - 1}`;
    const takes = rounds.uniform_strain === null ? "" : `: annealed it stretches evenly to a true strain of ${range(rounds.uniform_strain.map((strain) => strain.toFixed(2)))}, of which ${(rounds.used_up * 100).toFixed(0)} % is used up before it is annealed (common practice, no source)`;
    said.push(plain(`${rounds.rounds} ${rounds.rounds === 1 ? "round" : "rounds"} of forming from soft sheet, ${between}${takes}.`));
  } else if (rounds.not_known !== null) said.push(plain(`Rounds of forming are not known: ${rounds.not_known}.`));
  if (rounds.anneal_c !== null) said.push(plain(`It is annealed at ${range(rounds.anneal_c.map((celsius) => celsius.toFixed(0)))} °C.`));
  if (rounds.beyond !== null) said.push({ text: `It may tear. ${lengthsIn(rounds.beyond, unit)}`, fails: true });
  if (rounds.sources.length > 0) said.push(plain(`Sources: ${rounds.sources.join("; ")}.`));
  said.push(plain("All of this is an estimate: of the gentlest forming there could be. Try one pair before you cut a sheet. Anneal by the supplier's safety data sheet and your training."));
  return said;
}

/** What became of a lay, in one line. */
export function layWords(report: LayReport, unit: LengthUnit): string {
  const half = (count: number) => `${count} half ${count === 1 ? "shell" : "shells"}`;
  const on = report.length_mm === null ? `on ${report.sheets} ${report.sheets === 1 ? "sheet" : "sheets"}` : `from ${lengthText(report.length_mm, unit)} ${unit} of strip`;
  const laid = report.pieces === report.asked ? `All ${half(report.pieces)}` : `${report.pieces} of ${half(report.asked)}`;
  return report.pieces === 0 ? `None of ${half(report.asked)} lies clear yet.` : `${laid} ${on}.`;
}

export function layFigures(report: LayReport, unit: LengthUnit): { name: string; value: string }[] {
  const grams = (mass: number) => (mass >= 1000 ? `${(mass / 1000).toFixed(2)} kg` : `${mass.toFixed(0)} g`);
  const figures = [
    { name: "Yield", value: `${(report.yield * 100).toFixed(1)} % of the metal becomes blanks` },
    { name: "Metal bought", value: grams(report.bought_g) },
    { name: "Of it wasted", value: grams(report.wasted_g) },
  ];
  if (report.off_cut_mm !== null) {
    const whole = report.off_cut_mm < 0.5 ? "nothing over the full width" : `${lengthText(report.off_cut_mm, unit)} ${unit} over the full width, at the right end${report.sheets > 1 ? " of the last sheet" : ""}`;
    figures.push({ name: "Off-cut left whole", value: whole });
  }
  if (report.orders.length > 1) for (const order of report.orders) figures.push({ name: `Order ${order.order}`, value: `${order.pieces} of ${order.asked} half shells` });
  figures.push({ name: "Rounds of the search", value: `${report.rounds}, seed ${report.seed}: the same seed and rounds give this lay again` });
  return figures;
}
