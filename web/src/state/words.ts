// Every parameter in the maker's words, as a sentence about it begins: "Brace begins at 84.0 mm, was 82.0".
import { type Difference, differences } from "./differences.ts";
import { isObject, type Json, type Path, pathText, valueAt } from "./json.ts";
import { type LengthUnit, degreesText, fieldText, plainNumber } from "./lengths.ts";
import { type Field, inWords, planOf, wayOf } from "./schema.ts";

/** By parameter path, rows without their number. */
export const WORDS: Readonly<Record<string, string>> = {
  "order.number": "Order number",
  "order.serial": "Serial number",
  "order.revision": "Revision",
  "order.note": "Note",
  horn_voice: "Horn",
  values_are: "Values",
  "centreline.pieces": "Pieces of the centreline",
  "centreline.pieces[]": "Centreline, piece",
  "centreline.pieces[].straight_mm": "Straight piece is long",
  "centreline.pieces[].bend_deg": "Bend turns by",
  "centreline.pieces[].radius_mm": "Bend has the radius",
  "centreline.straight_start_mm": "Straight run at the cork end is long",
  "centreline.points": "Measured points of the centreline",
  "centreline.points[].x_mm": "Measured point lies along at",
  "centreline.points[].z_mm": "Measured point lies high at",
  "centreline.straight_end_mm": "Straight run at the tenon is long",
  "bore.entry_diameter_mm": "Bore at the cork end",
  "bore.half_angle_deg": "Bore opens at the half-angle",
  "bore.table": "Measured diameters of the bore",
  "bore.table[].station_mm": "Measured diameter stands at",
  "bore.table[].diameter_mm": "Measured diameter is",
  "tube.wall_mm": "Tube wall",
  "tube.wall_gauge": "Tube sheet gauge",
  "tube.metal": "Tube sheet",
  "tenon.outer_diameter_mm": "Tenon outside",
  "tenon.length_mm": "Tenon is long",
  "tenon.collar_diameter_mm": "Collar outside",
  "tenon.collar_length_mm": "Collar is long",
  "tenon.socket_depth_mm": "Socket is deep",
  "tenon.least_wall_mm": "Tenon keeps a wall of",
  "tenon.chamfer_mm": "Tenon chamfer",
  "tenon.metal": "Tenon metal",
  "end_ring.length_mm": "End ring is long",
  "end_ring.bead_diameter_mm": "Bead outside",
  "end_ring.bead_radius_mm": "Bead is rounded by",
  "end_ring.metal": "End ring metal",
  "cork.to_station_mm": "Cork ends at",
  "vent.station_mm": "Vent stands at",
  "vent.bore_mm": "Vent hole",
  "vent.outer_diameter_mm": "Vent outside",
  "vent.stand_mm": "Vent stands up by",
  "vent.reach_inside_mm": "Vent reaches inside by",
  "vent.chamfer_mm": "Vent chamfer",
  "vent.metal": "Vent metal",
  "brace.form": "Brace form",
  "brace.from_station_mm": "Brace begins at",
  "brace.to_station_mm": "Brace ends at",
  "brace.width_mm": "Brace is wide",
  "brace.thickness_mm": "Brace is thick",
  "brace.foot_length_mm": "Feet of the brace are long",
  "brace.bridge_height_mm": "Bridge of the brace stands off by",
  "brace.metal": "Brace metal",
  "saddle.station_mm": "Saddle and hinge stand at",
  "saddle.length_mm": "Saddle is long",
  "saddle.half_wrap_deg": "Saddle wraps to each side by",
  "saddle.thickness_mm": "Saddle is thick",
  "saddle.metal": "Saddle metal",
  "posts.diameter_mm": "Posts are thick",
  "posts.axis_height_mm": "Hinge axis stands above the tube by",
  "posts.top_above_axis_mm": "Posts rise above the hinge axis by",
  "posts.chamfer_mm": "Post chamfer",
  "posts.screw_head_side": "Hinge screw goes in from the",
  "posts.metal": "Post metal",
  "hinge.tube_outer_diameter_mm": "Hinge tube outside",
  "hinge.tube_length_mm": "Hinge tube is long",
  "hinge.end_play_mm": "Hinge end play",
  "hinge.screw_diameter_mm": "Hinge screw is thick",
  "hinge.radial_clearance_mm": "Hinge screw runs with",
  "hinge.thread": "Hinge screw thread",
  "hinge.head_diameter_mm": "Hinge screw head is wide",
  "hinge.head_length_mm": "Hinge screw head is long",
  "hinge.tube_metal": "Hinge tube metal",
  "hinge.screw_metal": "Hinge screw metal",
  "key.lift_mm": "Pad lifts by",
  "key.arm_thickness_mm": "Key arm is thick",
  "key.arm_height_mm": "Key arm is high",
  "key.gap_at_hinge_mm": "Gap under the key arm at the hinge",
  "key.boss_land_mm": "Metal over the hinge tube",
  "key.metal": "Key arm metal",
  "pad.diameter_mm": "Pad is wide",
  "pad.thickness_mm": "Pad is thick",
  "pad.stand_out_mm": "Pad stands out by",
  "pad.rim_margin_mm": "Pad must reach past the vent by",
  "pad_cup.wall_mm": "Side of the pad cup",
  "pad_cup.roof_mm": "Roof of the pad cup",
  "pad_cup.metal": "Pad cup metal",
  "rod_loop.rod_diameter_mm": "Rod of the loop is thick",
  "rod_loop.above_seat_mm": "Loop stands above the seat by",
  "rod_loop.reach_player_mm": "Loop reaches to the player by",
  "rod_loop.reach_bell_mm": "Loop reaches to the bell by",
  "rod_loop.lap_mm": "Rod ends lie along the arm for",
  "rod_loop.bend_radius_mm": "Rod is bent off the arm with the radius",
  "rod_loop.corner_radius_mm": "Corners of the loop have the radius",
  "rod_loop.tilt_deg": "Loop is tilted by",
  "rod_loop.point_length_mm": "Points of the rod are long",
  "rod_loop.metal": "Rod metal",
  "spring.thickness_mm": "Spring is thick",
  "spring.width_mm": "Spring is wide",
  "spring.seat_from_hinge_mm": "Spring is seated from the hinge by",
  "spring.seat_length_mm": "Seat of the spring is long",
  "spring.reach_mm": "Spring reaches from its seat by",
  "spring.set_mm": "Spring is set by",
  "spring.pad_force_n": "Spring is to press the pad with",
  "spring.metal": "Spring metal",
  "spring_screw.thread": "Spring screw thread",
  "spring_screw.head_diameter_mm": "Spring screw head is wide",
  "spring_screw.head_length_mm": "Spring screw head is high",
  "spring_screw.depth_mm": "Spring screw goes deep by",
  "spring_screw.metal": "Spring screw metal",
  "guide.station_mm": "Key guide stands at",
  "guide.length_mm": "Key guide is long",
  "guide.strip_thickness_mm": "Strip of the key guide is thick",
  "guide.half_wrap_deg": "Key guide wraps to each side by",
  "guide.side_clearance_mm": "Key guide leaves at each side",
  "guide.prong_above_arm_mm": "Prongs rise above the arm by",
  "guide.metal": "Key guide metal",
  badge: "Badge",
  "badge.station_mm": "Badge stands at",
  "badge.azimuth_deg": "Badge lies round the tube at",
  "badge.length_mm": "Badge is long",
  "badge.width_mm": "Badge is wide",
  "badge.thickness_mm": "Badge is thick",
  "badge.metal": "Badge metal",
  "mouthpiece.shank_bore_mm": "Shank bore",
  "mouthpiece.shank_diameter_mm": "Shank outside",
  "mouthpiece.shank_length_mm": "Shank is long",
  "mouthpiece.deepest_push_mm": "Shank is pushed on to",
  "horn.receiver_bore_mm": "Receiver bore",
  "horn.receiver_diameter_mm": "Receiver outside",
  "horn.receiver_depth_mm": "Receiver is deep",
  "horn.rim_gap_mm": "Gap at the receiver's rim",
  "horn.clamp.azimuth_deg": "Clamp lies round the tenon at",
  "horn.clamp.below_seat_mm": "Clamp screw lies below the seat by",
  "horn.clamp.offset_mm": "Clamp screw lies off the axis by",
  "horn.clamp.screw_diameter_mm": "Clamp screw is thick",
  "horn.clamp.length_mm": "Clamp screw is long",
  "horn.pin.circle_radius_mm": "Octave pin stands off the axis by",
  "horn.pin.diameter_mm": "Octave pin is thick",
  "horn.pin.height_mm": "Octave pin stands above the seat by",
  "horn.pin.travel_mm": "Octave pin travels by",
  "horn.pin.rest_gap_mm": "Octave pin rests off the loop by",
  "horn.screwdriver.diameter_mm": "Screwdriver is thick",
  "horn.screwdriver.length_mm": "Screwdriver's path is long",
  "horn.screwdriver.stand_off_mm": "Screwdriver's path begins off the head by",
  "horn.neck_turn_deg": "Neck is turned to each side by",
  "limits.joint_gap_mm": "Joint gap",
  "limits.joint_gap_min_mm": "Least joint gap",
  "limits.joint_gap_max_mm": "Greatest joint gap",
  "limits.least_clearance_mm": "Least clearance",
  "limits.running_min_mm": "Least running gap",
  "limits.running_max_mm": "Greatest running gap",
  "limits.fit_min_mm": "Least gap of the tenon",
  "limits.fit_max_mm": "Greatest gap of the tenon",
  "limits.brazing_temperature_c": "Filler flows at",
  "placing.along_mm": "Hands place along the tube within",
  "placing.round_mm": "Hands place round the tube within",
  "placing.height_mm": "Hands place the height within",
};

/** A path as the tables name it: rows without their number. */
export function tablePath(path: string): string {
  return path.replace(/\[\d+\]/g, "[]");
}

/** `Brace begins at`; with a row, `Row 3: Bend has the radius`. */
export function parameterText(path: Path): string {
  const row = path.find((step) => typeof step === "number");
  const words = WORDS[tablePath(pathText(path))] ?? path.map((step) => (typeof step === "number" ? `row ${step + 1}` : inWords(step))).join(", ");
  return typeof row === "number" && path.length > path.indexOf(row) + 1 ? `Row ${row + 1}: ${words.charAt(0).toLowerCase()}${words.slice(1)}` : words;
}

/** The plan of the field at a path of a job. */
export function fieldAt(schema: Json, job: Json, path: Path): Field | undefined {
  const [section, ...rest] = path;
  let plan = typeof section === "string" ? planOf(schema, section) : undefined;
  const here: (string | number)[] = section === undefined ? [] : [section];
  for (const step of rest) {
    plan = opened(plan, valueAt(job, here));
    if (plan?.kind === "rows" && typeof step === "number") plan = plan.item;
    else if (plan?.kind === "group") plan = plan.fields.find(({ key }) => key === step)?.field;
    else return undefined;
    here.push(step);
  }
  return plan;
}

/** The fields behind a choice between ways, or behind what may be left out. */
function opened(plan: Field | undefined, value: Json | undefined): Field | undefined {
  if (plan?.kind === "optional") return opened(plan.inner, value);
  if (plan?.kind === "ways") return plan.ways[wayOf(plan, value)];
  return plan;
}

/** A value as it is read, its unit behind it. */
export function valueText(schema: Json | undefined, job: Json, path: Path, value: Json | undefined, unit: LengthUnit): string {
  return textAndUnit(schema, job, path, value, unit).join("");
}

function textAndUnit(schema: Json | undefined, job: Json, path: Path, value: Json | undefined, unit: LengthUnit): [string, string] {
  if (value === undefined || value === null) return ["none", ""];
  if (Array.isArray(value)) return [value.length === 1 ? "1 row" : `${value.length} rows`, ""];
  if (isObject(value)) return ["there is one", ""];
  const plan = schema === undefined ? undefined : fieldAt(schema, job, path);
  if (typeof value === "number") {
    const of = plan?.kind === "number" ? plan.unit : (/_(mm|deg)$/.exec(pathText(path))?.[1] ?? "");
    if (of === "mm") return [unit === "in" ? fieldText(value, "in") : atLeastTenths(value), ` ${unit}`];
    return [of === "deg" ? atLeastTenths(Number(degreesText(value))) : plainNumber(value), of === "deg" ? "°" : of === "" || of === "gauge" ? "" : ` ${of}`];
  }
  if (plan?.kind === "choice") return [plan.options.find((option) => option.value === value)?.label ?? String(value), ""];
  return [value === "" ? "nothing" : `“${shortened(String(value))}”`, ""];
}

function atLeastTenths(value: number): string {
  const text = plainNumber(value);
  return text.includes(".") ? text : `${text}.0`;
}

function shortened(text: string): string {
  return text.length > 40 ? `${text.slice(0, 39)}…` : text;
}

/** `Brace begins at 84.0 mm, was 82.0`; of several changes the first, and how many more. */
export function changeText(from: Json, to: Json, schema: Json | undefined, unit: LengthUnit): string {
  const found = differences(from, to);
  const [first] = found;
  if (first === undefined) return "Nothing changed";
  const more = found.length === 1 ? "" : found.length === 2 ? "; 1 more change" : `; ${found.length - 1} more changes`;
  return oneChange(first, from, to, schema, unit) + more;
}

function oneChange({ path, from, to }: Difference, before: Json, after: Json, schema: Json | undefined, unit: LengthUnit): string {
  const [was, wasUnit] = textAndUnit(schema, before, path, from, unit);
  const [is, isUnit] = textAndUnit(schema, after, path, to, unit);
  // the unit once, unless it is another
  return `${parameterText(path)} ${is}${isUnit}, was ${was}${wasUnit === isUnit && isUnit !== "°" ? "" : wasUnit}`;
}
