// Stress along the neck as a picture, with words and a table beside it.
import { fieldText, lengthText, type LengthUnit } from "../../state/lengths.ts";
import type { CardNumber, JobCard } from "../../worker/card-talk.ts";
import { el, svg } from "../../dom.ts";
import { across, frameOf, lineOf, marksOf, type Point, text, up, WIDTH } from "../plot.ts";
import { numberText, shortText, table } from "./numbers.ts";

const TOP = 34;
const BOTTOM = 250;
const HEIGHT = 294;
/** Distance of the rows of the table. */
const ROWS_MM = 20;
/** Room over the highest line. */
const OVER = 1.08;

const valueOf = ({ value }: CardNumber) => value ?? 0;

/** Of the job's own metal; nothing where no stress is known. */
export function stressAlong({ pull_down: pull }: JobCard, unit: LengthUnit): HTMLElement[] {
  const [down, sideways] = pull.directions;
  const own = down?.metals.find(({ of_job }) => of_job);
  if (down === undefined || sideways === undefined || own === undefined || down.along.length < 2) return [];
  const points = (direction: typeof down): Point[] => direction.along.map(({ station, stress }) => [valueOf(station), valueOf(stress)] as const);
  const yields = [
    ["soft", own.yield_soft],
    ["hammered", own.yield_worked],
  ] as const;
  const known = yields.filter(([, number]) => number.value !== null);
  const least = ({ value, tolerance }: CardNumber) => (value ?? 0) + (tolerance?.[0] ?? 0);
  const most = Math.max(1, ...points(down).map(([, mpa]) => mpa), ...points(sideways).map(([, mpa]) => mpa), ...known.map(([, number]) => least(number)));
  const end = valueOf(down.along.at(-1)?.station ?? own.station);
  const frame = { top: TOP, bottom: BOTTOM, x: [0, end] as const, y: [0, most * OVER] as const };
  const soft = merged(pull.softened.map(({ from, to }) => [valueOf(from), valueOf(to)] as const));
  const stationText = (mm: number) => (unit === "mm" ? String(mm) : fieldText(mm, unit));
  const says = `${own.name.charAt(0).toUpperCase()}${own.name.slice(1)}: pressed down, at most ${shortText(own.stress, unit)} at station ${shortText(own.station, unit)}; to the side, at most ${shortText(sideways.metals.find(({ of_job }) => of_job)?.stress ?? own.stress, unit)}. ${known.length === 0 ? "Its yield is not known" : `It yields ${known.map(([name, number]) => `${name} at ${numberText(number, unit)}`).join(", ")}`}.`;
  const between = soft.map(([from, to]) => `${lengthText(from, unit)} to ${lengthText(to, unit)} ${unit}`).join(", ");
  const softSays = soft.length === 0 ? "No silver solder softens the tube after it was hammered." : `Shaded: softened again by silver solder, station ${between}.`;
  return [
    el(
      "figure",
      { class: "stress-along" },
      el(
        "div",
        { class: "plot-frame", attributes: { tabindex: 0, role: "region", "aria-label": "Stress along the neck, drawn" } },
        svg(
          "svg",
          { class: "plot-picture", attributes: { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": `Stress along the neck. ${says} ${softSays}` } },
          ...soft.map(([from, to]) => svg("rect", { class: "softened", attributes: { x: across(frame, from).toFixed(1), y: TOP, width: (across(frame, Math.min(to, end)) - across(frame, from)).toFixed(1), height: BOTTOM - TOP } })),
          frameOf(frame, "Greatest stress of the tube, MPa", `Station along the centreline, ${unit}`, marksOf(frame.x, 8), marksOf(frame.y, 5), { x: stationText, y: String }),
          ...known.flatMap(([name, number]) => {
            const y = up(frame, least(number));
            return [svg("path", { class: "yield-line", attributes: { d: `M${across(frame, 0)} ${y.toFixed(1)}H${across(frame, end)}` } }), text(across(frame, 0) + 6, y - 4, `yields ${name}, at least`)];
          }),
          lineOf(frame, points(down), "first"),
          lineOf(frame, points(sideways), "second"),
        ),
      ),
      el("figcaption", {}, el("p", { text: `Solid: pressed down. Dashed: to the side. ${says}` }), el("p", { text: softSays })),
    ),
    el(
      "details",
      { class: "card-more" },
      el("summary", { text: "Stress along the neck as a table" }),
      table(
        "Stress along the neck",
        ["Station", "Down", "To the side", "Metal there"],
        down.along.flatMap(({ station, stress, softened }, index) => (valueOf(station) + 0.3) % ROWS_MM > 1 && index < down.along.length - 1 ? [] : [{ cells: [shortText(station, unit), numberText(stress, unit), sideways.along[index] === undefined ? "" : numberText(sideways.along[index].stress, unit), softened ? "softened by solder" : "as hammered"] }]),
      ),
    ),
  ];
}

/** Stretches that run into each other as one. */
function merged(stretches: readonly Point[]): Point[] {
  const found: Point[] = [];
  for (const [from, to] of [...stretches].sort((a, b) => a[0] - b[0])) {
    const last = found.at(-1);
    if (last !== undefined && from <= last[1]) found[found.length - 1] = [last[0], Math.max(last[1], to)];
    else found.push([from, to]);
  }
  return found;
}
