// What the parameters measure, drawn out of proportion where that shows it better. One picture for what belongs together.
import { at, BEND, BEND_RADIUS, END, onNeck, out, run, strip, tenon, tube, centreline } from "./neck.ts";
import { angle, arc, band, box, circle, length, line, part, type Picture, type Point, polar, radius, shape } from "./sheet.ts";

const AXIS = 75;
/** The same below the axis as above it. */
const both = (...points: Point[]) => [shape(...points), shape(...points.map(([x, y]): Point => [x, 2 * AXIS - y]))];
const joined = (paths: readonly string[]) => paths.join("");
const ring = (x: number, y: number, inner: number, outer: number) => circle(x, y, outer) + circle(x, y, inner);

const SLIP = ["Order", "Serial", "Revision", "Horn", "Values", "Note"];
const slipLine = (index: number) => part(box(58, 14 + 20 * index, 124, 18));

const measuredPoint = at(132, 0);
const wallRing = ring(120, AXIS, 44, 55);

const tenonTube = both([20, 44], [120, 41], [120, 45], [20, 48]);
const sleeve = both([95, 25], [125, 25], [125, 35], [199, 35], [205, 41], [205, 46], [121, 45], [121, 40], [95, 41]);

const RING_TOP = "M60 45V41A14 14 0 0 1 74 27H118L122 31V45Z";
const RING_BOTTOM = "M60 105V109A14 14 0 0 0 74 123H118L122 119V105Z";

const ventWall = [box(20, 80, 78, 12), box(142, 80, 78, 12)];
const ventTube = [shape([100, 46], [106, 40], [112, 40], [112, 104], [100, 104]), shape([140, 46], [134, 40], [128, 40], [128, 104], [140, 104])];

const brace = strip(64, 150, 0, 5, -1);
const bridge = strip(64, 84, 0, 5, -1) + strip(80, 84, 0, 13, -1) + strip(80, 134, 8, 13, -1) + strip(130, 134, 0, 13, -1) + strip(130, 150, 0, 5, -1);
const underTube: Point = [120, 56];
const braceCut = band(underTube, 51, 60, 65, 115);

const saddle = strip(94, 118, 0, 4);
const post = strip(102, 110, 5, 22);
const onTop: Point = [120, 134];
const saddleCut = band(onTop, 61, 68, -150, -30);

const POSTS = [78, 146].map((x) => shape([x, 93], [x, 32], [x + 4, 28], [x + 12, 28], [x + 16, 32], [x + 16, 93]));
const postsBase: Point = [120, 150];
const postsHead = box(66, 38, 11, 14);

const hingeTube = both([66, 53], [174, 53], [174, 61], [66, 61]);
const hingeScrew = "M26 57H39V65H174V68H194L198 72V78L194 82H174V85H39V93H26Z";

const arm = shape([20, 60], [60, 60], [96, 66], [106, 58], [120, 54], [134, 58], [144, 66], [220, 58], [220, 78], [144, 92], [120, 97], [96, 90], [60, 76], [20, 76]);

const cup = `${box(70, 46, 100, 42)}${box(79, 58, 82, 30)}`;
const padOnVent: readonly string[] = [box(100, 101, 14, 46), box(126, 101, 14, 46)];

/** A box with round corners. */
function roundBox(x: number, y: number, width: number, height: number, r: number): string {
  return `M${x + r} ${y}h${width - 2 * r}a${r} ${r} 0 0 1 ${r} ${r}v${height - 2 * r}a${r} ${r} 0 0 1 ${-r} ${r}h${2 * r - width}a${r} ${r} 0 0 1 ${-r} ${-r}v${2 * r - height}a${r} ${r} 0 0 1 ${r} ${-r}Z`;
}
const loopPlan = roundBox(56, 13, 124, 124, 28) + roundBox(64, 21, 108, 108, 20);
const loopRods = [circle(176, 64, 4), circle(176, 86, 4)];
const armEnd = box(162, 69, 32, 12);

const LOOP_ENDS = [
  shape([98, 95], [98, 38], [102, 20], [104, 20], [108, 38], [108, 95]),
  band([81, 95], 17, 27, 0, 90),
  box(20, 112, 61, 10),
  shape([142, 95], [142, 38], [138, 20], [136, 20], [132, 38], [132, 95]),
  band([159, 95], 17, 27, 180, 90),
  box(159, 112, 61, 10),
];

const springStrip = "M95 62H131C160 62 186 78 207 101L203 105C182 84 160 68 131 68H95Z";

const tappedScrew = shape([96, 90], [108, 90], [108, 50], [112, 46], [128, 46], [132, 50], [132, 90], [144, 90], [144, 104], [140, 108], [100, 108], [96, 104]);

const guideBase: Point = [120, 150];
const fork = band(guideBase, 61, 68, -120, -60) + box(96, 28, 8, 58) + box(136, 28, 8, 58);

const badgeRing: Point = [120, 82];
const badgeCut = band(badgeRing, 51, 58, -155, -115);

const shank = both([10, 31], [130, 31], [130, 45], [10, 45]);
const pushedTube = both([60, 51], [230, 47], [230, 53], [60, 57]);
const pushedCork = both([76, 45], [152, 45], [152, 49], [76, 50.6]);

const receiver = [box(78, 46, 13, 86), box(149, 46, 13, 86)];
const inReceiver = [box(84, 18, 72, 22), box(96, 40, 8, 74), box(136, 40, 8, 74)];

const vertical = [box(96, 8, 48, 70), box(90, 78, 60, 19)];
const seatLine = line([70, 97], [215, 97]);

/** Where angles round the tube are seen from. */
const FROM_CORK: readonly [Point, string, ("start" | "middle" | "end")?][] = [[[120, 147], "seen from the cork end", "middle"]];
const FROM_ABOVE: readonly [Point, string, ("start" | "middle" | "end")?][] = [
  [[8, 146], "player"],
  [[232, 146], "bell", "end"],
];

export const PICTURES = {
  slip: {
    says: "The slip that goes with the job",
    beside: [box(50, 6, 140, 138)],
    words: SLIP.map((word, index) => [[64, 27 + 20 * index], word]),
    marks: { number: slipLine(0), serial: slipLine(1), revision: slipLine(2), horn: slipLine(3), values: slipLine(4), note: slipLine(5) },
  },
  bends: onNeck("The neck from the side, its centreline dashed", [], {
    straight: run(0, 78, 26),
    bend: angle(BEND, 34, -90, 0),
    radius: radius(BEND, BEND_RADIUS, -50),
    start: run(0, 78, 26),
    end: run(78 + (BEND_RADIUS * Math.PI) / 2, END, 28),
  }),
  points: {
    says: "The neck from the side, with points measured on its centreline",
    beside: [tube, tenon],
    axes: [centreline, line([20, 46], [215, 46])],
    lines: [84, 108, 132, 156, 178].map((s) => circle(...at(s, 0), 2.5)),
    marks: { x: length(20, 46, measuredPoint[0], 46, -26), z: length(measuredPoint[0], 46, measuredPoint[0], measuredPoint[1], 0) },
  },
  bore: {
    says: "The inside of the tube, cut along its axis, wider towards the tenon",
    metal: both([20, 57], [220, 29], [220, 35], [20, 63]),
    axes: [line([8, AXIS], [232, AXIS])],
    words: [[[10, 140], "cork end"], [[230, 140], "tenon", "end"]],
    marks: { entry: length(21, 63, 21, 87, 0), angle: angle([20, 63], 170, -8, 0), station: length(20, 84, 150, 84, 36), diameter: length(150, 45, 150, 105, 0) },
  },
  wall: { says: "The tube cut across", metal: [wallRing], marks: { wall: length(...polar([120, AXIS], 44, -45), ...polar([120, AXIS], 55, -45), 0), metal: part(wallRing) } },
  tenon: {
    says: "The tenon cut along its axis, the tube in its socket on the left",
    beside: tenonTube,
    metal: sleeve,
    axes: [line([8, AXIS], [232, AXIS])],
    marks: {
      outside: length(175, 35, 175, 115, 0),
      length: length(125, 35, 205, 35, -22),
      collar: length(110, 25, 110, 125, 0),
      "collar length": length(95, 25, 125, 25, -12),
      socket: length(95, 41, 121, 41, 24),
      wall: length(201, 37, 201, 46, 0),
      chamfer: length(199, 35, 205, 35, -10),
      metal: part(joined(sleeve)),
    },
  },
  ring: {
    says: "The end ring cut along the axis of the tube",
    beside: both([60, 46], [225, 44], [225, 51], [60, 53]),
    metal: [RING_TOP, RING_BOTTOM],
    axes: [line([30, AXIS], [232, AXIS])],
    marks: { length: length(60, 27, 122, 27, -14), outside: length(95, 27, 95, 123, 0), rounding: radius([74, 41], 14, 225), metal: part(RING_TOP + RING_BOTTOM) },
  },
  cork: onNeck("The neck from the side, the cork behind its end ring", [strip(10, 60, 0, 5), strip(10, 60, 0, 5, -1), strip(0, 8, 0, 5), strip(0, 8, 0, 5, -1)], { end: run(0, 60, 32) }),
  "vent place": onNeck("The neck from the side, the vent on top of it", [strip(58, 67, 0, 14)], { station: run(0, 62.5, 34) }),
  vent: {
    says: "The vent in the wall of the tube, cut along its axis",
    beside: ventWall,
    metal: ventTube,
    axes: [line([120, 26], [120, 118])],
    words: [[[22, 72], "outside"], [[22, 108], "bore"]],
    marks: {
      bore: length(112, 66, 128, 66, 0),
      outside: length(100, 46, 140, 46, -24),
      stand: length(140, 40, 140, 80, -24),
      reach: length(140, 92, 140, 104, -24),
      chamfer: length(134, 40, 140, 40, -12),
      metal: part(joined(ventTube)),
    },
  },
  brace: onNeck("The neck from the side, the brace under the bend", [brace], { from: run(0, 64, -26), to: run(0, 150, -26), form: part(brace), metal: part(brace) }),
  bridge: onNeck("The neck from the side, under it a brace that stands on two feet", [bridge], { foot: run(64, 84, -30), height: length(...at(107, -out(107)), ...at(107, -out(107) - 8), 0) }),
  "brace across": {
    says: "The tube cut across, the brace under it",
    beside: [ring(...underTube, 43, 50)],
    metal: [braceCut],
    marks: { width: length(...polar(underTube, 60, 115), ...polar(underTube, 60, 65), 18), thickness: length(120, 107, 120, 116, 0) },
  },
  saddle: onNeck("The neck from the side, the saddle on top with a post and the hinge", [saddle, post], { station: run(0, 106, 37), length: run(94, 118, 31) }),
  "saddle across": {
    says: "The tube cut across, the saddle on top of it",
    beside: [band(onTop, 53, 60, -179, -1)],
    metal: [saddleCut],
    axes: [line([120, 40], [120, 140])],
    marks: { wrap: angle(onTop, 40, -90, -30), thickness: length(120, 66, 120, 73, 0), metal: part(saddleCut) },
  },
  posts: {
    says: "The two posts on the saddle, seen along the tube, the hinge between them",
    beside: [band(postsBase, 53, 60, -175, -5), band(postsBase, 61, 67, -142, -38), box(96, 38, 48, 14), postsHead],
    metal: POSTS,
    axes: [line([56, 45], [184, 45])],
    marks: {
      diameter: length(146, 68, 162, 68, 0),
      axis: length(120, 90, 120, 45, 0),
      top: length(162, 45, 162, 28, 18),
      chamfer: length(158, 28, 162, 28, -10),
      side: part(postsHead),
      metal: part(joined(POSTS)),
    },
  },
  hinge: {
    says: "The hinge cut along its axis: the screw in the hinge tube, a post on each side",
    beside: [box(40, 22, 21, 42), box(40, 86, 21, 42), box(179, 22, 21, 45), box(179, 83, 21, 45)],
    metal: [...hingeTube, hingeScrew],
    axes: [line([12, AXIS], [224, AXIS])],
    lines: [180, 184, 188, 192].map((x) => line([x, 68], [x + 2, 82])),
    marks: {
      outside: length(120, 53, 120, 97, 0),
      length: length(66, 53, 174, 53, -22),
      "end play": length(174, 97, 179, 97, 16),
      screw: length(90, 65, 90, 85, 0),
      clearance: length(145, 61, 145, 65, 0),
      thread: part(box(175, 67, 24, 16)),
      "head outside": length(26, 57, 26, 93, 12),
      "head length": length(26, 57, 39, 57, -12),
      "tube metal": part(joined(hingeTube)),
      "screw metal": part(hingeScrew),
    },
  },
  lift: {
    says: "The pad raised from the vent, dashed where it rests when the key is closed",
    beside: [box(20, 118, 200, 14), box(104, 96, 32, 22)],
    metal: [box(76, 50, 88, 22), box(70, 38, 100, 12)],
    axes: [box(76, 74, 88, 22), line([120, 26], [120, 140])],
    marks: { lift: length(164, 96, 164, 72, 24) },
  },
  arm: {
    says: "The key arm from the side: pad on the left, hinge in the middle, loop to the right, the tube under it",
    beside: [box(10, 112, 220, 16), box(36, 97, 10, 15), box(24, 77, 34, 12), box(28, 89, 26, 8)],
    metal: [arm],
    lines: [circle(120, 76, 10), circle(120, 76, 4)],
    marks: { height: length(200, 60, 200, 81.7, 0), gap: length(120, 97, 120, 112, 0), land: length(120, 54, 120, 66, 0), metal: part(arm) },
  },
  "arm from above": {
    says: "The key arm seen from above, the hinge across it",
    beside: [box(112, 40, 16, 70), circle(40, AXIS, 20)],
    metal: [box(20, 66, 206, 18)],
    marks: { thickness: length(190, 66, 190, 84, 0) },
  },
  pad: {
    says: "The pad in its cup, resting on the vent, cut along the vent's axis",
    beside: padOnVent,
    metal: [box(80, 60, 80, 40), cup],
    axes: [line([120, 30], [120, 148])],
    marks: {
      diameter: length(80, 100, 160, 100, 26),
      thickness: length(160, 60, 160, 100, -34),
      "stand out": length(170, 88, 170, 100, -16),
      margin: length(140, 100, 160, 100, 16),
      wall: length(70, 74, 79, 74, 0),
      roof: length(120, 46, 120, 58, 0),
      metal: part(cup),
      force: { kind: "radius", centre: [120, 10], to: [120, 46] },
    },
  },
  loop: {
    says: "The loop seen along the tenon from above, the tenon in it, the octave pin on the player's side",
    beside: [ring(120, AXIS, 27, 34), circle(76, AXIS, 6), armEnd],
    metal: [loopPlan, ...loopRods],
    words: FROM_ABOVE,
    marks: { player: length(120, AXIS, 64, AXIS, 0), bell: length(120, AXIS, 172, AXIS, 0), rod: length(56, 108, 64, 108, 0), corner: radius([84, 41], 24, 225), metal: part(loopPlan) },
  },
  "loop from the side": {
    says: "The loop from the side, round the end of the neck above the collar",
    beside: [...vertical, box(92, 98, 56, 46)],
    metal: [roundBox(56, 46, 130, 8, 4)],
    axes: [seatLine, line([46, 50], [196, 50]), line(polar([120, 50], 76, 166), polar([120, 50], 76, 346))],
    words: [[[8, 146], "player"], [[232, 146], "bell", "end"]],
    marks: { above: length(186, 97, 186, 50, 20), tilt: angle([120, 50], 68, 180, 166) },
  },
  "loop ends": {
    says: "The ends of the rod laid along both sides of the arm, seen from the bell",
    beside: [box(110, 6, 20, 92)],
    metal: LOOP_ENDS,
    marks: { lap: length(142, 20, 142, 95, -22), bend: radius([159, 95], 22, 135), point: length(98, 20, 98, 38, 20) },
  },
  spring: {
    says: "The spring under the arm from the side, its tip on the tube",
    beside: [box(20, 38, 206, 23), box(20, 106, 206, 18), box(106, 69, 14, 6)],
    metal: [springStrip],
    lines: [circle(44, 50, 7)],
    axes: ["M131 65C162 67 184 92 197 136", line([113, 32], [113, 80])],
    marks: {
      thickness: length(100, 62, 100, 68, 0),
      seat: length(44, 50, 113, 50, -28),
      "seat length": length(95, 68, 131, 68, 18),
      reach: length(113, 62, 205, 62, -40),
      set: length(205, 105, 205, 136, -14),
      metal: part(springStrip),
    },
  },
  "spring from below": {
    says: "The spring under the arm, seen from the tube",
    beside: [box(20, 58, 206, 34)],
    metal: [box(90, 66, 124, 18)],
    lines: [circle(113, AXIS, 6)],
    marks: { width: length(180, 66, 180, 84, 0) },
  },
  "spring screw": {
    says: "The screw that holds the spring under the arm, cut along its axis",
    beside: [box(48, 20, 60, 60), box(132, 20, 60, 60), box(108, 20, 24, 18), box(40, 81, 67, 8), box(133, 81, 67, 8)],
    metal: [tappedScrew],
    lines: [54, 60, 66, 72].map((y) => line([108, y], [132, y + 3])),
    axes: [line([120, 28], [120, 120])],
    marks: { thread: part(box(108, 46, 24, 34)), head: length(96, 108, 144, 108, 16), "head length": length(144, 90, 144, 108, -18), depth: length(132, 38, 132, 80, -36), metal: part(tappedScrew) },
  },
  guide: onNeck("The neck from the side, the key guide on it near the tenon", [strip(144, 160, 0, 16)], { station: run(0, 152, 34), length: run(144, 160, 28) }),
  "guide across": {
    says: "The tube cut across at the key guide, the arm between its prongs",
    beside: [band(guideBase, 53, 60, -175, -5), box(111, 42, 18, 32)],
    metal: [fork],
    axes: [line([120, 20], [120, 146])],
    marks: { wrap: angle(guideBase, 46, -90, -60), strip: length(136, 36, 144, 36, 0), side: length(129, 60, 136, 60, 0), above: length(144, 28, 144, 42, -16), metal: part(fork) },
  },
  badge: onNeck("The neck from the side, a badge on it", [strip(110, 134, 0, 4)], { station: run(0, 122, 32), length: run(110, 134, 26) }),
  "badge across": {
    says: "The tube cut across at the badge",
    beside: [ring(...badgeRing, 43, 50)],
    metal: [badgeCut],
    axes: [line([120, 14], [120, 132])],
    words: FROM_CORK,
    marks: {
      azimuth: angle(badgeRing, 34, -90, -135),
      width: { kind: "along", path: arc(badgeRing, 66, -155, -115), ends: [-155, -115].map((degrees): [Point, Point] => [polar(badgeRing, 51, degrees), polar(badgeRing, 70, degrees)]) },
      thickness: length(...polar(badgeRing, 51, -135), ...polar(badgeRing, 58, -135), 0),
      metal: part(badgeCut),
    },
  },
  mouthpiece: {
    says: "The mouthpiece's shank pushed on the cork, cut along the axis",
    beside: [...pushedTube, ...pushedCork],
    metal: shank,
    axes: [line([4, AXIS], [236, AXIS])],
    marks: { bore: length(34, 45, 34, 105, 0), outside: length(24, 31, 24, 119, 0), length: length(10, 31, 130, 31, -14), push: length(60, 99, 130, 99, 34) },
  },
  receiver: {
    says: "The tenon in the receiver, cut along the axis, the gaps drawn wide",
    beside: inReceiver,
    metal: receiver,
    axes: [line([120, 8], [120, 144])],
    marks: { bore: length(91, 124, 149, 124, 0), outside: length(78, 132, 162, 132, 10), depth: length(162, 46, 162, 132, -24), rim: length(153, 40, 153, 46, 0), fit: length(144, 84, 149, 84, 0) },
  },
  clamp: {
    says: "The receiver and its clamp screw, seen along the tenon from above",
    beside: [ring(120, 88, 34, 42), box(106, 18, 8, 32), box(126, 18, 8, 32)],
    metal: [box(80, 22, 84, 12)],
    axes: [line([120, 10], [120, 134]), line([70, 88], [184, 88])],
    words: FROM_ABOVE,
    marks: { azimuth: angle([120, 88], 54, 0, -90), offset: length(120, 88, 120, 28, 0), screw: length(150, 22, 150, 34, 0), length: length(80, 22, 164, 22, -12) },
  },
  "clamp from the side": {
    says: "The receiver from the side of its clamp, the screw across it",
    beside: [box(88, 16, 64, 24), box(80, 45, 80, 94)],
    metal: [box(70, 82, 100, 16)],
    axes: [line([70, 40], [210, 40]), line([60, 90], [210, 90])],
    marks: { below: length(170, 40, 170, 90, -20) },
  },
  pin: {
    says: "The octave pin inside the loop on the player's side, seen along the tenon from above, dashed where it stands when it is pressed",
    beside: [ring(120, AXIS, 27, 34), roundBox(48, 13, 132, 124, 28) + roundBox(56, 21, 116, 108, 20), armEnd],
    metal: [circle(74, AXIS, 8)],
    axes: [circle(50, AXIS, 8)],
    words: FROM_ABOVE,
    marks: { circle: length(120, AXIS, 74, AXIS, 0), pin: length(66, AXIS, 82, AXIS, 24), travel: length(74, AXIS, 50, AXIS, 24), rest: length(56, AXIS, 66, AXIS, 0) },
  },
  "pin from the side": {
    says: "The octave pin beside the receiver, from the side",
    beside: [...vertical, box(92, 98, 56, 46)],
    metal: [box(56, 38, 10, 106)],
    axes: [line([30, 97], [170, 97])],
    words: [[[8, 146], "player"], [[232, 146], "bell", "end"]],
    marks: { height: length(56, 97, 56, 38, -18) },
  },
  screwdriver: {
    says: "The way of a screwdriver to the hinge screw, dashed, along the hinge axis",
    beside: [box(30, 36, 16, 84), box(94, 36, 16, 84), box(47, 64, 46, 22)],
    metal: [box(111, 64, 12, 22)],
    axes: [box(134, 67, 92, 16), line([20, AXIS], [236, AXIS])],
    marks: { blade: length(200, 67, 200, 83, 0), length: length(134, 83, 226, 83, 22), off: length(123, 64, 134, 64, -18) },
  },
  turn: {
    says: "The neck from above, turned in the receiver to either side, dashed",
    beside: [roundBox(40, 64, 150, 22, 8), ring(190, AXIS, 17, 24)],
    axes: [15, -15, 0].map((turn) => line([190, AXIS], polar([190, AXIS], 170, 180 + turn))),
    words: FROM_ABOVE,
    marks: { turn: angle([190, AXIS], 140, 180, 195) },
  },
  joint: {
    says: "Two parts that are soldered, the gap between them drawn wide",
    beside: [box(30, 84, 180, 34)],
    metal: [box(60, 38, 120, 36)],
    marks: { gap: length(120, 74, 120, 84, 0) },
  },
  apart: {
    says: "Two parts that must not touch",
    beside: [box(24, 44, 74, 62)],
    metal: [circle(164, AXIS, 36)],
    marks: { gap: length(98, AXIS, 128, AXIS, 0) },
  },
  heat: {
    says: "A joint at the heat at which the filler flows",
    beside: [box(20, 96, 140, 26), box(40, 66, 100, 24)],
    metal: [roundBox(186, 14, 16, 92, 8), circle(194, 116, 15)],
    marks: { heat: part(`${box(190, 46, 8, 58)}${circle(194, 116, 11)}`) },
  },
  "off along": { ...onNeck("The neck from the side, a part off its place along the tube, dashed where it belongs", [strip(112, 136, 0, 5)], { along: run(94, 112, 24) }), axes: [centreline, strip(94, 118, 0, 5)] },
  "off round": {
    says: "The tube cut across, a part off its place round it, dashed where it belongs",
    beside: [ring(120, 86, 48, 55)],
    metal: [band([120, 86], 56, 63, -88, -48)],
    axes: [band([120, 86], 56, 63, -110, -70), line([120, 20], [120, 92])],
    marks: { round: { kind: "along", path: arc([120, 86], 72, -90, -68), ends: [-90, -68].map((degrees): [Point, Point] => [polar([120, 86], 55, degrees), polar([120, 86], 76, degrees)]) } },
  },
  "off high": {
    says: "The tube cut across, a part too high over it, dashed where it belongs",
    beside: [band([120, 140], 63, 70, -165, -15)],
    metal: [box(90, 34, 60, 20)],
    axes: [box(90, 50, 60, 20)],
    marks: { height: length(150, 70, 150, 54, 18) },
  },
} satisfies Readonly<Record<string, Picture>>;

