// The comparison in tables: what goes up, what goes down, by how much, and how surely.
import { type LengthUnit, lengthText } from "../../state/lengths.ts";
import type { Comparison, Curves, Disturbance, NeckSaid, NoteShift } from "../../worker/bore-talk.ts";
import { el } from "../../dom.ts";
import { scrolling } from "../room-parts.ts";

export const signed = (value: number, places = 1) => {
  const text = value.toFixed(places);
  return Number(text) === 0 ? text.replace("-", "") : `${value > 0 ? "+" : "−"}${text.replace("-", "")}`;
};

/** Whether a shift is more than what the diameters are known for. */
export const isSure = ({ shift_cents, uncertainty_cents }: NoteShift) => Math.abs(shift_cents) > uncertainty_cents;

export const head = (texts: readonly string[]) => el("thead", {}, el("tr", {}, ...texts.map((text) => el("th", { text, attributes: { scope: "col" } }))));
export const row = ([first, ...cells]: readonly string[]) => el("tr", {}, el("th", { text: first ?? "", attributes: { scope: "row" } }), ...cells.map((text) => el("td", { class: "number", text })));
export const scrolled = (name: string, ...rows: HTMLElement[]) => scrolling(name, el("table", { class: "bore-figures" }, ...rows));

/** A direction in a word, so that it is not the sign alone that tells. */
const wayOf = (cents: number) => (Number(cents.toFixed(1)) === 0 ? "" : cents > 0 ? " up" : " down");

/** Width of a peak where its square is half; none where a side of it does not fall so far. */
const widthOf = ({ frequency_hz, q }: Comparison["notes"][number]["a"]) => (q > 0 ? (frequency_hz / q).toFixed(1) : "none");

export function notesTable({ notes }: Comparison): HTMLElement {
  return scrolled(
    "Every note",
    head(["Note", "Register", "Shift, cents", "Give or take, cents", "Is it sure?", "Peak height, change in dB", "Height, first, MPa·s/m³", "Height, second, MPa·s/m³", "Pitch of peak, Hz, first → second", "Width of peak, Hz, first → second"]),
    el(
      "tbody",
      {},
      ...notes.map((note) =>
        row([
          note.written,
          note.register === 1 ? "lower" : "upper",
          `${signed(note.shift_cents)}${wayOf(note.shift_cents)}`,
          `± ${note.uncertainty_cents.toFixed(1)}`,
          isSure(note) ? "yes" : "no",
          signed(note.height_change_db),
          note.a.height_mpa_s_m3.toFixed(1),
          note.b.height_mpa_s_m3.toFixed(1),
          `${note.a.frequency_hz.toFixed(1)} → ${note.b.frequency_hz.toFixed(1)}`,
          `${widthOf(note.a)} → ${widthOf(note.b)}`,
        ]),
      ),
    ),
  );
}

export function octavesTable({ octaves }: Comparison): HTMLElement {
  const none = "no second peak";
  return scrolled(
    "Octaves",
    head(["Over", "Ratio, first", "Ratio, second", "Beyond 2, cents, first", "Beyond 2, cents, second", "Change, cents"]),
    el(
      "tbody",
      {},
      ...octaves.map(({ written, a, b }) =>
        row([written, a?.ratio.toFixed(4) ?? none, b?.ratio.toFixed(4) ?? none, a === null ? none : signed(a.wide_cents), b === null ? none : signed(b.wide_cents), a === null || b === null ? "not known" : signed(b.wide_cents - a.wide_cents)]),
      ),
    ),
  );
}

export function ventsTable({ vents }: Comparison): HTMLElement {
  const said = (on: Comparison["vents"][number]["a"][number] | undefined) => {
    if (on === undefined || !on.is_there) return "not there before";
    return on.shift_cents === null || on.height_ratio === null ? "gone" : `${signed(on.shift_cents)}, × ${on.height_ratio.toFixed(2)}`;
  };
  const names = ["First", "Second", "Third"];
  return scrolled(
    "What opening the vent does",
    head(["Fingering of", ...names.flatMap((name) => [`${name} peak, first neck`, `${name} peak, second neck`])]),
    el("tbody", {}, ...vents.map(({ written, a, b }) => row([written, ...names.flatMap((_, index) => [said(a[index]), said(b[index])])]))),
  );
}

/** What the vent's place suits, in a sentence for each neck. */
export function ventWords({ a, b }: Comparison): string[] {
  return [
    ["first", a.vent_suits] as const,
    ["second", b.vent_suits] as const,
  ].map(([which, suits]) => {
    if (suits === null) return `On the ${which} no note asked about has an octave for the vent.`;
    return suits.outside ? `On the ${which} the vent’s place suits a note beyond ${suits.written}, the nearest of those asked about.` : `On the ${which} the vent stands where it disturbs ${suits.written} least (${signed(suits.cents_beyond, 0)} cents).`;
  });
}

/** Whether mouthpiece and cork can make up for the missing cone. */
export function coneWords({ a, b, horn }: Comparison, unit: LengthUnit): string[] {
  const holds = `${(horn.mouthpiece_volume_mm3 / 1000).toFixed(2)} cm³`;
  return [["first", a] as const, ["second", b] as const].map(([which, { missing_cone: cone, pulling }]) => {
    const pull = pulling?.for_the_cone_mm;
    if (cone === null || pulling === null || pull == null) return `On the ${which} no cone is missing: it does not widen.`;
    const missing = `The ${which} is missing ${(cone.volume_mm3 / 1000).toFixed(2)} cm³ of its cone, the mouthpiece is taken to hold ${holds} pushed on all the way`;
    const far = `${lengthText(Math.abs(pull), unit)} ${unit}`;
    if (Math.abs(pull) < 0.05) return `${missing}: just that.`;
    if (pull < 0) return `${missing}: too much by what ${far} more on the cork would take, and there is no more. The octaves come out narrow at the bottom.`;
    return pull <= pulling.range_mm ? `${missing}: pulled by ${far} it holds what is missing.` : `${missing}: it would have to be pulled by ${far}, and the cork holds it only for ${lengthText(pulling.range_mm, unit)}.`;
  });
}

export function coneTable({ a, b }: Comparison, unit: LengthUnit): HTMLElement {
  const length = (mm: number) => lengthText(mm, unit);
  const volume = (mm3: number) => `${(mm3 / 1000).toFixed(2)} cm³`;
  const pulled = ({ pulling }: NeckSaid, byMm: number) => {
    const notes = pulling?.notes ?? [];
    const sorted = notes.flatMap(({ written, cents_per_mm }) => (cents_per_mm === null ? [] : [{ written, cents: cents_per_mm * byMm }])).sort((one, other) => other.cents - one.cents);
    const [least, most] = [sorted[0], sorted.at(-1)];
    const lost = notes.filter(({ cents_per_mm }) => cents_per_mm === null).map(({ written }) => written);
    const each = (one: typeof least) => (one === undefined ? "" : `${one.written} ${signed(one.cents)}`);
    return `${least === undefined ? "none" : `${each(least)} to ${each(most)}`}${lost.length === 0 ? "" : `; lost: ${lost.join(", ")}`}`;
  };
  const lines: [string, (neck: NeckSaid) => string][] = [
    [`Length of the neck, ${unit}`, ({ length_mm }) => length(length_mm)],
    ["What the bore holds", ({ volume_mm3 }) => volume(volume_mm3)],
    [`Entry, ${unit}`, ({ profile }) => length(profile[0]?.diameter_mm ?? 0)],
    ["Mean half-angle", ({ missing_cone: cone }) => (cone === null ? "it does not widen" : `${cone.half_angle_deg.toFixed(2)}°`)],
    ["Steepest and flattest", ({ profile }) => `${Math.max(...profile.map((place) => place.half_angle_deg)).toFixed(2)}°, ${Math.min(...profile.map((place) => place.half_angle_deg)).toFixed(2)}°`],
    [`Missing cone: length, ${unit}`, ({ missing_cone: cone }) => (cone === null ? "none" : length(cone.length_mm))],
    ["Missing cone: what the mouthpiece must hold", ({ missing_cone: cone }) => (cone === null ? "none" : volume(cone.volume_mm3))],
    [`Step at the tenon, ${unit}`, ({ tenon }) => length(tenon.step_mm)],
    ["Change of half-angle at the tenon", ({ tenon }) => `${signed(tenon.angle_change_deg, 2)}°`],
    [`The mouthpiece can be pulled, ${unit}`, ({ pulling }) => (pulling === null ? "not known" : length(pulling.range_mm))],
    [`Pulled this far it holds what is missing, ${unit}`, ({ pulling }) => (pulling?.for_the_cone_mm == null ? "none" : signed(Number(length(pulling.for_the_cone_mm)), unit === "in" ? 3 : 2))],
    ["Pulling by 1 mm, cents", (neck) => pulled(neck, 1)],
    ["Tuning range: pulled as far as it can be, cents, as the first millimetre has it", (neck) => pulled(neck, neck.pulling?.range_mm ?? 0)],
  ];
  const table = scrolled("Cone and mouthpiece in numbers", head(["What", "First", "Second"]), el("tbody", {}, ...lines.map(([name, of]) => row([name, of(a), of(b)]))));
  table.classList.add("bore-wraps");
  return table;
}

const DISTURBED_AT = { cork_end: "Wall’s end in the mouthpiece", vent: "End of the vent in the bore", socket: "Tube’s end in the socket", tenon_end: "Wall’s end in the receiver" };

export function disturbedTable({ a, b }: Comparison, unit: LengthUnit): HTMLElement {
  const length = (mm: number) => lengthText(mm, unit);
  const area = (mm2: number) => (unit === "in" ? (mm2 / 645.16).toFixed(4) : mm2.toFixed(1));
  const bounds = ({ added_length_mm: taken, least_length_mm: least, greatest_length_mm: most }: Disturbance) => (most === 0 ? "none" : `${length(taken)} (${length(least)} to ${length(most)})`);
  const square = unit === "in" ? "in²" : "mm²";
  const rows = [["first", a] as const, ["second", b] as const].flatMap(([which, { disturbed }]) => disturbed.map((one) => row([`${DISTURBED_AT[one.at]}, ${which}`, length(one.station_mm), `${area(one.area_mm2)} → ${area(one.disturbed_area_mm2)}`, signed(one.volume_mm3), bounds(one)])));
  const words = el("ul", { class: "bore-words" }, ...a.disturbed.map(({ taken }) => el("li", { text: taken })));
  const table = scrolled("Where the area is disturbed", head(["Where", `Station, ${unit}`, `Area, ${square}`, "Air beside, mm³", `As so much more length, ${unit} (between what bounds)`]), el("tbody", {}, ...rows));
  table.classList.add("bore-wraps");
  return el("div", { class: "blanks-body" }, table, words);
}

/** The peaks of the curves that are drawn, in words. */
export function curveWords({ notes }: Comparison, { written }: Curves): string[] {
  const note = notes.find((one) => one.written === written);
  if (note === undefined) return [];
  return note.peaks.map(({ a, b }, index) => {
    const said = (peak: NonNullable<typeof a>) => `${peak.frequency_hz.toFixed(1)} Hz, ${peak.height_mpa_s_m3.toFixed(1)} MPa·s/m³, ${widthOf(peak)} Hz wide`;
    const change = a === null || b === null ? "" : ` (${signed(1200 * Math.log2(b.frequency_hz / a.frequency_hz))} cents)`;
    return `Peak ${index + 1}: first ${a === null ? "has none here" : said(a)}; second ${b === null ? "has none here" : said(b)}${change}.`;
  });
}
