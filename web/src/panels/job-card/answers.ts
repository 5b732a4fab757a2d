// What the card answers: the maker's numbers in words and tables, each with what it may be off by, and the order of work with its
// cautions, which nothing puts out of sight.
import { lengthsIn, type LengthUnit } from "../../state/lengths.ts";
import type { CardNumber, JobCard } from "../../worker/card-talk.ts";
import { el } from "../../dom.ts";
import { numberList, numberText, shortText, sources, table } from "./numbers.ts";
import { stressAlong } from "./stress.ts";

/** A margin of less stays bent. */
const LEAST_MARGIN = 1;
const WORKS: Readonly<Record<string, string>> = { neck: "Neck", key: "Key" };

/** Temper that each metal is looked at in, and how another is chosen. */
export interface Tempers {
  of(metal: string): string | undefined;
  choose(metal: string, temper: string): void;
}

type PullRow = JobCard["pull_down"]["directions"][number]["metals"][number];

type Section = (card: JobCard, unit: LengthUnit, tempers: Tempers) => HTMLElement[];

export function answers(card: JobCard, unit: LengthUnit, tempers: Tempers): HTMLElement[] {
  return SECTIONS.map(([id, title, section]) =>
    el("section", { class: "sheet", attributes: { id: `card-${id}`, "aria-labelledby": `card-${id}-title` } }, el("h3", { text: title, attributes: { id: `card-${id}-title` } }), ...section(card, unit, tempers)),
  );
}

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);

const says = (words: readonly string[], unit: LengthUnit) => words.map((text) => el("p", { class: "says", text: lengthsIn(text, unit) }));

const tenon: Section = ({ tenon }, unit) => [
  ...tenon.contradictions.map((text) => el("p", { class: "fault", text: `These readings cannot all be true: ${lengthsIn(text, unit)}` })),
  numberList(
    [
      ["Receiver", tenon.receiver],
      ["Receiver, inch", tenon.receiver_inch],
      ["Finish the tenon to", tenon.target],
      ["The same, inch", tenon.target_inch],
      ["Turn it to, before fitting", tenon.turned_to],
      ["Job's tenon less that", tenon.job_off],
      ["Receiver's taper", tenon.taper],
      ["Receiver out of round", tenon.out_of_round],
    ],
    unit,
  ),
  table(
    "Fits beside each other",
    ["Fit", "Clearance", "Tenon"],
    tenon.fits.map((fit) => ({ cells: [`${fit.name === "hand" ? "By hand" : fit.name}${fit.chosen ? " (chosen)" : ""}`, numberText(fit.clearance, unit), numberText(fit.tenon, unit)], class: fit.chosen ? "chosen" : undefined })),
  ),
  ...says(tenon.words, unit),
  sources(tenon),
];

/** A margin with the word for it, so that it is no matter of colour. */
function margin(number: CardNumber): HTMLElement {
  if (number.value === null) return el("span", { text: "not known", attributes: { title: number.not_known } });
  const low = number.value + (number.tolerance?.[0] ?? 0);
  const word = number.value < LEAST_MARGIN ? "stays bent" : low < LEAST_MARGIN ? "may stay bent" : "holds";
  return el("span", { class: word === "holds" ? undefined : "warns" }, el("strong", { text: word }), ` ${number.value.toFixed(2)}`);
}

/** Why numbers are not known, each reason once. */
function unknown(numbers: readonly CardNumber[]): HTMLElement[] {
  const why = [...new Set(numbers.flatMap(({ not_known: reason }) => (reason === undefined ? [] : [reason])))];
  return why.length === 0 ? [] : [el("p", { class: "says", text: `Not known: ${why.join("; ")}.` })];
}

/** The margin of a tube that is of one temper all along, for the temper that is chosen. */
function inTemper(direction: string, { metal, name, tempers: rows }: PullRow, tempers: Tempers): HTMLElement {
  const chosen = rows.find(({ temper }) => temper === tempers.of(metal)) ?? rows[0];
  if (chosen === undefined) return el("span", { text: "not known", attributes: { title: "no strength by temper with a source is at hand" } });
  const select = el("select", { attributes: { "aria-label": `${name}, ${direction}: temper`, "data-key": `temper-${direction}-${metal}` }, on: { change: () => tempers.choose(metal, select.value) } }, ...rows.map(({ temper }) => el("option", { text: temper, attributes: { value: temper, selected: temper === chosen.temper } })));
  return el("span", { class: "in-temper" }, select, margin(chosen.margin));
}

const pullDown: Section = (card, unit, tempers) => [
  el("p", { class: "says", text: "Margin: what the metal yields at, over the greatest stress of the tube. Under 1 it stays bent." }),
  ...stressAlong(card, unit),
  ...pullTables(card, unit, tempers),
];

const pullTables: Section = ({ pull_down: pull }, unit, tempers) => [
  ...pull.directions.flatMap((direction) => [
    table(
      `${capital(direction.what)}, ${numberText(direction.load, unit)}`,
      ["Metal", "Gives way", "Greatest stress", "Soft", "Hammered", "As soldered", "All of one temper"],
      direction.metals.map((row) => ({
        cells: [`${row.name}${row.of_job ? " (this neck)" : ""}`, shortText(row.moved, unit), shortText(row.stress, unit), margin(row.margin_soft), margin(row.margin_worked), margin(row.margin_as_soldered), inTemper(direction.id, row, tempers)],
        class: row.of_job ? "chosen" : undefined,
      })),
    ),
    ...unknown(direction.metals.flatMap((row) => [row.moved, row.stress, row.margin_soft, row.margin_worked, row.margin_as_soldered])),
    numberList(
      [
        ["Without the brace it gives way", direction.moved_without_brace],
        ["Without it, greatest stress", direction.stress_without_brace],
        ["Stress of the brace itself", direction.brace_stress],
      ],
      unit,
    ),
  ]),
  ...says(pull.words, unit),
  sources([pull.directions.map(({ load, metals, brace_stress }) => [load, metals, brace_stress]), pull.softened]),
];

const heat: Section = ({ heat }, unit) => {
  const nameOf = (id: string) => heat.joints.find(({ joint }) => joint === id)?.name ?? id;
  return [
    ...(heat.flags.length === 0 ? [el("p", { class: "says", text: "Nothing stands against this order." })] : heat.flags.map((flag) => el("p", { class: "fault", text: lengthsIn(flag.words, unit) }))),
    table(
      "Every joint with its filler",
      ["Joint", "Heat", "Filler", "Melts", "Under its metals", "Filler to melt", "Of wire"],
      heat.joints.map((joint) => ({
        cells: [
          joint.name,
          `${WORKS[joint.work] ?? joint.work}, heat ${shortText(joint.heat, unit)}`,
          `${joint.filler}: ${joint.composition}`,
          `${shortText(joint.solidus, unit)} to ${shortText(joint.liquidus, unit)}`,
          numberText(joint.metal_margin, unit),
          shortText(joint.volume, unit),
          shortText(joint.wire, unit),
        ],
      })),
    ),
    ...(heat.suggested.length === 0
      ? []
      : [
          el("h4", { text: "An order that keeps earlier joints safe" }),
          el("ol", { class: "heat-order" }, ...heat.suggested.map(({ work, heat: number, filler, joints }) => el("li", { text: `${WORKS[work] ?? work}, heat ${shortText(number, unit)}, ${filler}: ${joints.map(nameOf).join(", ")}` }))),
        ]),
    ...heat.no_order.map((text) => el("p", { class: "fault", text })),
    sources(heat),
  ];
};

/** How far a screw is in its thread, and the word where that is less than it should be. */
function engaged(is: CardNumber, asked: CardNumber, unit: LengthUnit): HTMLElement {
  const short = is.value !== null && asked.value !== null && is.value < asked.value;
  return el("span", { class: short ? "warns" : undefined }, short ? el("strong", { text: "short: " }) : undefined, `${shortText(is, unit)} of ${shortText(asked, unit)} asked`);
}

const holes: Section = ({ holes }, unit) => [
  table(
    "Holes to drill, tap and ream",
    ["Hole", "Drill", "Depth", "Tap", "Thread left", "In thread", "When"],
    holes.holes.map(({ what, drill, depth, thread, step }) => ({
      cells: [what, numberText(drill, unit), shortText(depth, unit), thread?.tap ?? "none", thread === undefined ? "" : numberText(thread.share, unit), thread === undefined ? "" : engaged(thread.engagement, thread.engagement_asked, unit), step],
    })),
  ),
  numberList(
    [
      ["Hinge screw, plain part", holes.screw_plain],
      ["Hinge screw, under its head", holes.screw_length],
      ["Hinge screw, diameter", holes.screw_diameter],
    ],
    unit,
  ),
  sources(holes),
];

const bent: Section = ({ bent_parts: parts }, unit) => [
  table(
    "Lengths before bending",
    ["Part", "Metal", "Length", "Width", "Thickness", "Anneal at"],
    parts.map((part) => ({ cells: [part.name, part.metal, numberText(part.length, unit), part.width === undefined ? "rod" : numberText(part.width, unit), shortText(part.thickness, unit), numberText(part.anneal, unit)] })),
  ),
  ...parts.flatMap(({ name, words }) => says(words.map((text) => `${name}: ${text}`), unit)),
  sources(parts),
];

const masses: Section = ({ masses }, unit) => [
  numberList(
    [
      ["Whole neck", masses.whole],
      ["Balance point, station", masses.balance_station],
      ["Balance point, over the centreline", masses.balance_above],
    ],
    unit,
  ),
  el("details", { class: "card-more" }, el("summary", { text: "Part by part" }), table("Mass of each part", ["Part", "Metal", "Mass"], masses.parts.map(({ name, metal, mass }) => ({ cells: [name, metal, numberText(mass, unit)] })))),
  sources(masses),
];

const wall: Section = ({ wall, hammering }, unit) => [
  numberList(
    [
      ["Wall as drawn", wall.drawn],
      ["Thinnest after forming", wall.thinnest_formed],
      ["At station", wall.thinnest_station],
      ["Thinnest after hammering", wall.thinnest_hammered],
      ["Area to hammer", hammering.area],
      ["Blow to blow", hammering.spacing],
      ["Blows", hammering.blows],
      ["Time", hammering.minutes],
      ["Hardness to expect", hammering.hardness],
    ],
    unit,
  ),
  ...says([...wall.words, ...hammering.words], unit),
  sources([wall, hammering]),
];

const vent: Section = ({ vent }, unit) => [
  table("Opening of the octave vent", ["Lift of the pad", "Area round the rim", "Over the bore's"], vent.openings.map(({ lift, area, share }) => ({ cells: [shortText(lift, unit), numberText(area, unit), numberText(share, unit)] }))),
  numberList([["As large as the bore at a lift of", vent.lift_of_equal_area], ["Station", vent.station], ["Usual stations", vent.usual_station]], unit),
  ...says(vent.words, unit),
  sources(vent),
];

const metals: Section = ({ metals }, unit) => [
  el("p", { class: "says", text: "Every figure with its source; a range where sources differ. Deliveries differ too: ask for the mill's certificate." }),
  ...metals.map(({ metal, name, composition, parts, words, tempers, ...figures }) => {
    const row = (what: string, number: CardNumber) => ({ cells: [what, numberText(number, unit), number.source] });
    return el(
      "details",
      { class: "card-more" },
      el("summary", { text: `${capital(name)} (${metal})${parts.length === 0 ? "" : ": in this neck"}` }),
      el("p", { class: "says", text: `Composition: ${composition}.${parts.length === 0 ? "" : ` Parts of it: ${parts.join(", ").replaceAll("_", " ")}.`}` }),
      ...says(words, unit),
      table(`${capital(name)}, figures`, ["What", "Value", "Source"], [
        row("Density", figures.density),
        row("Stiffness", figures.stiffness),
        row("Expansion", figures.expansion),
        row("Begins to melt", figures.solidus),
        row("Is molten", figures.liquidus),
        row("Anneal at", figures.anneal),
        ...tempers.flatMap((one) => [row(`Yield, ${one.temper}`, one.yield), row(`Tears, ${one.temper}`, one.tensile)]),
      ]),
    );
  }),
];

const order: Section = ({ steps }, unit) => [
  el(
    "ol",
    { class: "work-order" },
    ...steps.map((step) =>
      el(
        "li",
        {},
        el("strong", { text: step.title }),
        el("p", { text: lengthsIn(step.how, unit) }),
        step.numbers.length === 0 ? undefined : numberList(step.numbers.map(({ what, number }) => [what, number] as const), unit),
        step.measure.length === 0 ? undefined : el("p", { class: "says", text: `To measure and write down: ${step.measure.join("; ")}.` }),
        ...step.cautions.map((text) => el("p", { class: "caution" }, el("strong", { text: "Caution: " }), text)),
      ),
    ),
  ),
];

const SECTIONS: readonly (readonly [string, string, Section])[] = [
  ["tenon", "Tenon from gauges", tenon],
  ["pull-down", "Will it pull down?", pullDown],
  ["metals", "Metals", metals],
  ["heat", "Heat in order", heat],
  ["holes", "Holes and threads", holes],
  ["bent", "Bent parts", bent],
  ["wall", "Wall and hammering", wall],
  ["masses", "Masses and balance", masses],
  ["vent", "Octave vent, as guidance", vent],
  ["order", "Order of work", order],
];
