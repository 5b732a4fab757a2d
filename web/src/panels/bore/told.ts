// The comparison in words and tables: what goes up, what goes down, by how much, and how surely.
import { type LengthUnit, lengthText } from "../../state/lengths.ts";
import type { Comparison, Curves, Disturbance, NeckSaid, NoteShift, OctaveCompared } from "../../worker/bore-talk.ts";
import { el } from "../../dom.ts";

/** A peak that changes by less is as high as before, dB. */
const SAME_DB = 0.5;
/** Octaves that change by less are as wide as before, cents. */
const SAME_CENTS = 2;

export const signed = (value: number, places = 1) => {
  const text = value.toFixed(places);
  return Number(text) === 0 ? text.replace("-", "") : `${value > 0 ? "+" : "−"}${text.replace("-", "")}`;
};

/** Whether a shift is more than what the diameters are known for. */
export const isSure = ({ shift_cents, uncertainty_cents }: NoteShift) => Math.abs(shift_cents) > uncertainty_cents;

const listed = (items: readonly string[]) => (items.length < 2 ? (items[0] ?? "") : `${items.slice(0, -1).join(", ")} and ${items.at(-1)}`);

/** Sentences that say it all in short, what a player would notice first before what he would not. */
export function summary({ notes, octaves, a, b, horn }: Pick<Comparison, "a" | "b" | "horn"> & { notes: readonly NoteShift[]; octaves: readonly OctaveCompared[] }): string[] {
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
  const octave = octaves.filter(({ wide_a_cents, wide_b_cents }) => Math.abs(wide_b_cents - wide_a_cents) >= SAME_CENTS);
  words.push(
    octave.length === 0
      ? `Octaves, vent shut, stay as wide within ${SAME_CENTS} cents.`
      : `Octaves, vent shut: ${listed(octave.map(({ written, wide_a_cents: from, wide_b_cents: to }) => `over ${written} ${to > from ? "wider" : "narrower"} by ${Math.abs(to - from).toFixed(1)}`))} cents.`,
  );
  const [cone, other] = [a.missing_cone, b.missing_cone];
  if (cone !== null && other !== null) {
    const change = (other.volume_mm3 - cone.volume_mm3) / 1000;
    words.push(`In place of the missing cone the mouthpiece must hold ${(other.volume_mm3 / 1000).toFixed(2)} cm³ instead of ${(cone.volume_mm3 / 1000).toFixed(2)} (${signed(change, 2)}).`);
  }
  const gauge = Math.max(0, ...notes.map(({ gauge_error_cents }) => gauge_error_cents));
  words.push(`A gauge that reads both bores 0.1 mm too wide everywhere changes no shift by more than ${gauge.toFixed(1)} cents.`);
  if (horn.without_vent.length > 0) words.push(`${listed(horn.without_vent)} ${horn.without_vent.length === 1 ? "is" : "are"} played with an octave vent on the body, which this horn is without here: told is the second peak with every vent shut.`);
  if (horn.stand_in) words.push("A plain cone stands in for the body of the horn, without holes and bell: the difference between the two is worth more than any number by itself.");
  return words;
}

const head = (texts: readonly string[]) => el("thead", {}, el("tr", {}, ...texts.map((text) => el("th", { text, attributes: { scope: "col" } }))));
const row = ([first, ...cells]: readonly string[]) => el("tr", {}, el("th", { text: first ?? "", attributes: { scope: "row" } }), ...cells.map((text) => el("td", { class: "number", text })));
/** A table that is wider than a phone scrolls by itself. */
const scrolled = (name: string, ...rows: HTMLElement[]) => el("div", { class: "picture-scroll", attributes: { tabindex: 0, role: "region", "aria-label": name } }, el("table", { class: "bore-figures" }, ...rows));

export function notesTable({ notes }: Comparison): HTMLElement {
  return scrolled(
    "Every note",
    head(["Note", "Register", "Shift, cents", "Give or take", "Is it sure?", "Peak, dB", "Height, first", "Second, MPa·s/m³", "Pitch of peak, Hz", "Q"]),
    el(
      "tbody",
      {},
      ...notes.map((note) =>
        row([
          note.written,
          note.register === 1 ? "lower" : "upper",
          signed(note.shift_cents),
          `± ${note.uncertainty_cents.toFixed(1)}`,
          isSure(note) ? "yes" : "no",
          signed(note.height_change_db),
          note.a.height_mpa_s_m3.toFixed(1),
          note.b.height_mpa_s_m3.toFixed(1),
          `${note.a.frequency_hz.toFixed(1)} → ${note.b.frequency_hz.toFixed(1)}`,
          `${note.a.q.toFixed(0)} → ${note.b.q.toFixed(0)}`,
        ]),
      ),
    ),
  );
}

export function octavesTable({ octaves }: Comparison): HTMLElement {
  return scrolled(
    "Octaves",
    head(["Over", "Ratio, first", "Ratio, second", "Beyond 2, cents, first", "Second", "Change"]),
    el("tbody", {}, ...octaves.map((one) => row([one.written, one.ratio_a.toFixed(4), one.ratio_b.toFixed(4), signed(one.wide_a_cents), signed(one.wide_b_cents), signed(one.wide_b_cents - one.wide_a_cents)]))),
  );
}

export function ventsTable({ vents }: Comparison): HTMLElement {
  const said = (on: Comparison["vents"][number]["a"][number] | undefined) => (on?.shift_cents == null || on.height_ratio == null ? "gone" : `${signed(on.shift_cents)}, × ${on.height_ratio.toFixed(2)}`);
  return scrolled(
    "What opening the vent does",
    head(["Fingering of", "First peak, first", "First peak, second", "Second peak, first", "Second peak, second"]),
    el("tbody", {}, ...vents.map(({ written, a, b }) => row([written, said(a[0]), said(b[0]), said(a[1]), said(b[1])]))),
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
  const pulled = ({ pulling }: NeckSaid) => {
    const sorted = [...(pulling?.notes ?? [])].sort((one, other) => other.cents_per_mm - one.cents_per_mm);
    const [least, most] = [sorted[0], sorted.at(-1)];
    const each = (one: typeof least) => (one === undefined ? "" : `${one.written} ${signed(one.cents_per_mm)}`);
    return least === undefined ? "none" : `${each(least)} to ${each(most)}`;
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
    ["Pulling by 1 mm, cents", pulled],
  ];
  const table = scrolled("Cone and mouthpiece in numbers", head(["What", "First", "Second"]), el("tbody", {}, ...lines.map(([name, of]) => row([name, of(a), of(b)]))));
  table.classList.add("bore-wraps");
  return table;
}

/** Stations at which either bore is told, with what each is there. */
function along({ a, b }: Comparison) {
  const at = ({ profile }: NeckSaid, station: number) => profile.find(({ station_mm }) => Math.abs(station_mm - station) < 1e-6);
  const stations = [...a.profile, ...b.profile].map(({ station_mm }) => station_mm).sort((one, other) => one - other);
  return stations.filter((station, index) => index === 0 || station - (stations[index - 1] ?? 0) > 1e-6).map((station) => ({ station, first: at(a, station), second: at(b, station) }));
}

export function alongTable(comparison: Comparison, unit: LengthUnit): HTMLElement {
  const length = (mm: number | undefined) => (mm === undefined ? "" : lengthText(mm, unit));
  const area = (mm2: number | undefined) => (mm2 === undefined ? "" : unit === "in" ? (mm2 / 645.16).toFixed(4) : mm2.toFixed(1));
  const square = unit === "in" ? "in²" : "mm²";
  return scrolled(
    "Both bores along their length",
    head([`Station, ${unit}`, `First, ${unit}`, `Second, ${unit}`, "Difference", "Half-angle, first", "Second", `Open area, first, ${square}`, "Second"]),
    el(
      "tbody",
      {},
      ...along(comparison).map(({ station, first, second }) => {
        const by = first === undefined || second === undefined ? undefined : second.diameter_mm - first.diameter_mm;
        return row([length(station), length(first?.diameter_mm), length(second?.diameter_mm), by === undefined ? "" : signed(Number(length(by)), unit === "in" ? 3 : 2), first === undefined ? "" : `${first.half_angle_deg.toFixed(2)}°`, second === undefined ? "" : `${second.half_angle_deg.toFixed(2)}°`, area(first?.open_area_mm2), area(second?.open_area_mm2)]);
      }),
    ),
  );
}

export function alongCsv(comparison: Comparison): string {
  const cell = (value: number | undefined, places: number) => value?.toFixed(places) ?? "";
  const lines = along(comparison).map(({ station, first, second }) => {
    const by = first === undefined || second === undefined ? undefined : second.diameter_mm - first.diameter_mm;
    return [station.toFixed(3), cell(first?.diameter_mm, 4), cell(second?.diameter_mm, 4), cell(by, 4), cell(first?.half_angle_deg, 4), cell(second?.half_angle_deg, 4), cell(first?.open_area_mm2, 3), cell(second?.open_area_mm2, 3)].join(",");
  });
  return `station_mm,a_diameter_mm,b_diameter_mm,difference_mm,a_half_angle_deg,b_half_angle_deg,a_open_area_mm2,b_open_area_mm2\n${lines.join("\n")}\n`;
}

const DISTURBED_AT = { cork_end: "Wall’s end in the mouthpiece", vent: "End of the vent in the bore", socket: "Tube’s end in the socket", tenon_end: "Wall’s end in the receiver" };

export function disturbedTable({ a, b }: Comparison, unit: LengthUnit): HTMLElement {
  const length = (mm: number) => lengthText(mm, unit);
  const area = (mm2: number) => (unit === "in" ? (mm2 / 645.16).toFixed(4) : mm2.toFixed(1));
  const bounds = ({ added_length_mm: taken, least_length_mm: least, greatest_length_mm: most }: Disturbance) => (most === 0 ? "none" : `${length(taken)} (${length(least)} to ${length(most)})`);
  const square = unit === "in" ? "in²" : "mm²";
  const rows = [["first", a] as const, ["second", b] as const].flatMap(([which, { disturbed }]) => disturbed.map((one) => row([`${DISTURBED_AT[one.at]}, ${which}`, length(one.station_mm), `${area(one.area_mm2)} → ${area(one.disturbed_area_mm2)}`, signed(one.volume_mm3), bounds(one)])));
  const words = el("ul", { class: "bore-words" }, ...a.disturbed.map(({ taken }) => el("li", { text: taken })));
  const table = scrolled("Where the area is disturbed", head(["Where", `Station, ${unit}`, `Area, ${square}`, "Air beside, mm³", `As so much more length, ${unit} (it may be)`]), el("tbody", {}, ...rows));
  table.classList.add("bore-wraps");
  return el("div", { class: "blanks-body" }, table, words);
}

/** The peaks of the curves that are drawn, in words. */
export function curveWords({ notes }: Comparison, { written }: Curves): string[] {
  const note = notes.find((one) => one.written === written);
  if (note === undefined) return [];
  return note.peaks_a.slice(0, 4).flatMap((peak, index) => {
    const other = note.peaks_b[index];
    if (other === undefined) return [];
    const cents = 1200 * Math.log2(other.frequency_hz / peak.frequency_hz);
    return [`Peak ${index + 1}: first ${peak.frequency_hz.toFixed(1)} Hz, ${peak.height_mpa_s_m3.toFixed(1)} MPa·s/m³; second ${other.frequency_hz.toFixed(1)} Hz, ${other.height_mpa_s_m3.toFixed(1)} (${signed(cents)} cents).`];
  });
}
