// The view of the neck: draws when something has changed and at no other time.
import { OrthographicCamera, PerspectiveCamera, Raycaster, Scene, Vector2, Vector3, WebGLRenderer } from "three";
import type { LengthUnit } from "../state/lengths.ts";
import { lengthText, plainNumber } from "../state/lengths.ts";
import { apart, type CutPlane, cutPlane, endsOf, type Looking, type Picked, PLAIN_LOOK, type Side } from "../state/looking.ts";
import { between, type Spot } from "../state/places.ts";
import type { Axes, Clearance, PartInfo, PartMesh, Unrolled } from "../worker/protocol.ts";
import { type Appearance, Assembly, MOVES, STILL } from "./assembly.ts";
import { add, axes, type Box, Camera, dot, FROM_THE_SIDE, type Look, subtract, type Vec3 } from "./camera.ts";
import { roundMeasure, strokesOf, type StretchLine } from "./clash-marks.ts";
import { type Grip, layHand } from "./hand.ts";
import { layInk, type Point, type Stroke } from "./ink.ts";
import { type Label, placeLabels, widthOf } from "./labels.ts";
import { measureInk } from "./measure.ts";
import { type Sight, spotOnTube } from "./on-tube.ts";
import { Pace } from "./pace.ts";
import { StillPicture } from "./still-picture.ts";
import { Covered, type NameToPlace, placeNames, type PlacedName, type Rect } from "./names.ts";

/** Depth before and behind the target that is drawn: more than the longest neck with its mouthpiece and horn. */
const DEPTH_MM = 1500;
/** Angle the height of the view takes up in the eye, where lines meet there: about what a hand at the bench sees of a neck. */
const EYE_DEG = 24;
/** Part of the distance to the target from which on things are drawn: what is nearer would fill the view. */
const NEAREST = 1 / 40;
/** What is seen of a cut across, by the outside of the tube. */
const CUT_SPANS = 2.6;
/** What a place of the list is shown with round it. */
const PLACE_SPAN_MM = 16;
/** Marks of failing places at most, the worst first: more would cover the neck. */
const MARKS = 24;
/** A view that has stood still for so long rests: its names are placed. */
const RESTS_AFTER_MS = 120;
const NAME_PX_PER_LETTER = 6.6;
/** Corners of the view with something in them: the tools, what is said of the neck, the measure. */
const TAKEN_PX = [
  (width: number) => ({ left: width - 340, top: 0, right: width, bottom: 50 }),
  (width: number, height: number) => ({ left: 0, top: height - 52, right: width * 0.62, bottom: height }),
  (width: number, height: number) => ({ left: width * 0.75, top: height - 40, right: width, bottom: height }),
];

/** A place the view goes to: where two parts are nearest, or the one point that matters of their joint. */
export type Place = Pick<Clearance, "a" | "b" | "a_point_mm" | "b_point_mm" | "horn_angle_deg"> & { pose: Clearance["pose"] | "joint" };

export interface ViewState {
  hidden: ReadonlySet<string>;
  chosen: string | undefined;
  /** Place that is looked at, and what it says in short. */
  place: { at: Place; text: string } | undefined;
  /** Turn of the key, degrees. */
  keyDeg: number;
  failing: readonly Clearance[];
  names: boolean;
  unit: LengthUnit;
  /** The part that is held, or that could be moved, and where it may go. */
  placing: PlacingShown | undefined;
}

export interface PlacingShown {
  /** Stretches along the tube, at the azimuth of the part, each with the words at its ends. */
  stretches: readonly { fromMm: number; toMm: number; fromText: string; toText: string }[];
  azimuthDeg: number;
  /** What is told beside the part while it is held. */
  held: { spot: Spot; text: string } | undefined;
}

/** What the view tells of a hand on a part that can be placed: where on the tube the hand points. */
export interface PlacingHand {
  /** What is moved with a part; undefined for one that is not placed. */
  movedWith(part: string): string | undefined;
  take(part: string, at: Spot): void;
  moveTo(at: Spot, mmPerPx: number): void;
  letGo(): void;
  giveBack(): void;
}

/** How far off the outside of the tube the stretch is drawn in which a part is clear, mm. */
const STRETCH_OFF_MM = 2.2;
/** A part whose middle is no farther from the centreline lies round the tube, mm. */
const ROUND_MM = 2;
/** Cosine between the eye and the way out of the tube to a part, below which the part is on the far side: some 110 degrees. */
const FAR_SIDE = -0.35;
/** Distance of its points, mm. */
const STRETCH_STEP_MM = 2;

export class Viewport {
  readonly camera = new Camera({ target: [60, 0, -30], span: 200, ...FROM_THE_SIDE });
  readonly #renderer: WebGLRenderer;
  readonly #gl: WebGL2RenderingContext;
  readonly #scene = new Scene();
  readonly #parallel = new OrthographicCamera(-1, 1, 1, -1, 0, 2 * DEPTH_MM);
  readonly #seen = new PerspectiveCamera(EYE_DEG);
  readonly #assembly: Assembly;
  readonly #pace: Pace;
  /** Where drawing takes long: without a graphics card. */
  #still: StillPicture | undefined;
  #state: ViewState = { hidden: new Set(), chosen: undefined, place: undefined, keyDeg: 0, failing: [], names: true, unit: "mm", placing: undefined };
  /** Of the canvas, CSS pixels: asking the page for it in the middle of a change makes it lay everything out anew. */
  #size = { width: 1, height: 1 };
  #tube: Unrolled["along"] = [];
  /** Where on the tube the hand was last. */
  #hand: Spot = { stationMm: 0, azimuthDeg: 0 };
  #looking: Looking = PLAIN_LOOK;
  #plane: CutPlane | undefined;
  #axes: Axes | undefined;
  #names: PlacedName[] = [];
  /** Where numbers are written over the view: names keep clear of them. */
  #written: readonly Rect[] = [];
  #restTimer: ReturnType<typeof setTimeout> | undefined;
  #asked = false;
  /** The neck is to be drawn anew, and not only what is written over it. */
  #stale = true;
  /** It was drawn before its frame, and is not again before the next one: no more are seen. */
  #ahead = false;
  #last: number | undefined;
  /** Job that was last shown whole; none before the first neck. */
  #opened: number | undefined;
  /** The canvas is in sight: in another room of the shop nothing is drawn. */
  #shown = false;
  /** How the neck is to be seen whole as soon as there is a view to fit it into. */
  #wholeOwed: Pick<Look, "yaw" | "pitch"> | undefined;

  constructor(
    private readonly canvas: HTMLCanvasElement,
    private readonly ink: SVGElement,
    appearance: Appearance,
    private readonly onPick: (picked: Picked | undefined) => void,
    private readonly onCut: (parts: string[]) => void,
    private readonly placing: PlacingHand,
  ) {
    const { context, smooths } = drawingOn(canvas);
    this.#pace = new Pace(smooths);
    this.#gl = context;
    this.#renderer = new WebGLRenderer({ canvas, context });
    const newStill = () => (smooths ? undefined : new StillPicture(context));
    this.#still = newStill();
    canvas.addEventListener("webglcontextrestored", () => {
      this.#still = newStill();
      this.draw();
    });
    this.#renderer.localClippingEnabled = true;
    this.#renderer.setClearColor(0, 0);
    // asking the driver whether the shaders are sound makes the first picture wait for it
    this.#renderer.debug.checkShaderErrors = false;
    this.#assembly = new Assembly(appearance);
    this.#scene.add(this.#assembly.root);
    for (const eye of [this.#parallel, this.#seen]) eye.layers.enableAll();
    layHand(canvas, this.camera, { moved: () => this.draw(), nears: (x, y) => this.#anchor(x, y), clicked: (x, y) => this.#pick(x, y), whole: () => this.whole() }, this.#grip());
    new ResizeObserver(() => this.#resize()).observe(canvas);
    this.#resize();
  }

  setAppearance(appearance: Appearance): void {
    this.#assembly.setAppearance(appearance);
    this.draw();
  }

  /** Parts of a new neck; the first neck of each opened job is shown whole. */
  setParts(parts: readonly PartInfo[], axes: Axes, opened: number): void {
    this.#axes = axes;
    this.#assembly.setParts(parts, axes);
    this.#apply();
    if (this.#opened === opened || parts.length === 0) return;
    const first = this.#opened === undefined;
    this.#opened = opened;
    this.whole();
    if (first) this.camera.arrive();
  }

  /** The same parts, turning about other axes: a part is being moved. */
  setAxes(axes: Axes): void {
    this.#axes = axes;
    this.#assembly.setAxes(axes);
    this.#turn();
  }

  /** The tube by its stations, for parts to be moved along. */
  setTube(along: Unrolled["along"]): void {
    this.#tube = along;
  }

  setMeshes(meshes: readonly PartMesh[], chordMm: number): void {
    this.#assembly.setMeshes(meshes, chordMm);
    this.draw();
    if (isHeld(this.#state)) this.#drawAhead();
  }

  show(state: ViewState): void {
    const before = this.#state;
    this.#state = state;
    const place = state.place?.at;
    const goes = place !== undefined && (before.place === undefined || isElsewhere(before.place.at, place));
    if (!goes && isDrawnAlike(before, state)) return this.#ask();
    this.#pace.hold(isHeld(state));
    this.#assembly.setCoarse(isHeld(state));
    this.#apply();
    if (goes) this.#goTo(place);
    this.draw();
  }

  /** Cut open, alone, as the eye sees it, measured. */
  look(looking: Looking): void {
    this.#looking = looking;
    this.#plane = cutPlane(looking);
    this.#apply();
    this.draw();
  }

  /** The whole neck from one side. */
  from(side: Side): void {
    const { yaw, pitch } = this.#towards(this.#directionOf(side));
    this.whole({ yaw, pitch });
  }

  /** Turns the neck, if need be, until a part on its far side is on the side of the eye. */
  turnTo(part: string): void {
    const middle = this.#assembly.middleOf(part);
    if (middle === undefined || this.#tube.length === 0 || this.#state.place !== undefined || this.#plane !== undefined) return;
    const { x_mm, z_mm, dx, dz } = this.#tube.reduce((nearest, at) => (farOff(at, middle) < farOff(nearest, middle) ? at : nearest));
    const off = subtract(middle, [x_mm, 0, z_mm]);
    const out = add(off, [dx, 0, dz], -dot(off, [dx, 0, dz]));
    const farMm = Math.sqrt(dot(out, out));
    // what goes round the tube is on every side of it
    if (farMm < ROUND_MM || dot(out, axes(this.camera.goal).eye) / farMm > FAR_SIDE) return;
    this.camera.goTo(this.#towards([out[0] / farMm, out[1] / farMm, out[2] / farMm]));
    this.draw();
  }

  /** Square to the cut, the cut face to the eye; a cut across is brought near. */
  faceCut(): void {
    const plane = this.#plane;
    if (plane === undefined) return;
    const from = this.#towards(plane.away);
    if (this.#looking.cut === "bend") return this.whole(from);
    const across = this.#looking.across;
    this.camera.goTo({ ...from, target: plane.point, span: CUT_SPANS * (across?.outsideDiameterMm ?? across?.boreDiameterMm ?? PLACE_SPAN_MM) });
    this.draw();
  }

  /** What a press in the middle of the view would land on. */
  pickMiddle(): void {
    this.#pick(this.#width / 2, this.#height / 2);
  }

  /** Everything shown, from the side. */
  whole(from: Pick<Look, "yaw" | "pitch"> = FROM_THE_SIDE): void {
    const box = this.#assembly.box();
    if (!this.#shown) this.#wholeOwed = from;
    else if (box !== undefined) {
      this.camera.fit(box, this.#aspect, from, this.#state.names && this.#width > 560 ? 1.3 : 1.12);
      if (this.#looking.asSeen) this.#stepBack(box);
    }
    this.draw();
  }

  /** As the eye sees it, what is nearer than the middle of the neck looks larger: far enough off that its near side fits too. */
  #stepBack({ min, max }: Box): void {
    const { eye } = axes(this.camera.goal);
    const near = ([0, 1, 2] as const).reduce<number>((sum, axis) => sum + (Math.abs(eye[axis]) * (max[axis] - min[axis])) / 2, 0);
    this.camera.goTo({ span: this.camera.goal.span + 2 * near * Math.tan((EYE_DEG * Math.PI) / 360) });
  }

  /** Draws with the next frame, and goes on while the camera is on its way. */
  draw(): void {
    this.#stale = true;
    this.#ask();
  }

  /**
   * Draws before the next frame, so that the graphics are at work while the rest of the page follows a part that is held: a
   * machine without a graphics card would else draw only when all of that is done. A cut waits for the frame: it tells the page
   * what it cuts.
   */
  #drawAhead(): void {
    if (this.#ahead || !this.#asked || this.camera.moves || this.#plane !== undefined) return;
    this.#ahead = true;
    this.#picture();
    // without something to be told of, drivers gather what is to be drawn until the picture is wanted
    const fence = this.#gl.fenceSync(this.#gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    this.#gl.flush();
    this.#gl.deleteSync(fence);
  }

  /** What is written over the neck is written with the next frame, which draws the neck too if that is to be drawn anew. */
  #ask(): void {
    delete this.canvas.dataset["rests"];
    this.#names = [];
    clearTimeout(this.#restTimer);
    if (this.#asked || this.#opened === undefined || !this.#shown) return;
    this.#asked = true;
    const asked = performance.now();
    requestAnimationFrame((now) => {
      this.#pace.frame(performance.now() - asked);
      this.#frame(now);
    });
  }

  #apply(): void {
    const { hidden, chosen, place } = this.#state;
    this.#assembly.show({ hidden, chosen, pair: place === undefined ? undefined : [place.at.a, place.at.b], alone: this.#looking.alone, cut: this.#plane });
    this.#turn();
  }

  #turn(): void {
    const { keyDeg, place } = this.#state;
    this.#assembly.turn(keyDeg, place?.at.horn_angle_deg ?? 0);
  }

  #frame(now: number): void {
    this.#asked = false;
    if (!this.#shown) return;
    // the first frame after a rest counts as a usual one, however long the rest was
    this.#pace.rests = false;
    this.#ahead = false;
    const moving = this.camera.step(this.#last === undefined ? 16 : Math.min(now - this.#last, 100));
    this.#last = moving ? now : undefined;
    if (this.#stale) this.#picture();
    this.#drawInk();
    if (moving) this.draw();
    else this.#restTimer = setTimeout(() => this.#rest(), RESTS_AFTER_MS);
  }

  /** The neck itself. */
  #picture(): void {
    this.#aim();
    const cut = this.#assembly.layFaces();
    if (cut !== undefined) this.onCut(cut);
    this.#assembly.setScale(this.#mmPerPx);
    this.#paint();
    this.#stale = false;
  }

  #paint(): void {
    if (!this.#isFineEnough) this.#renderer.setPixelRatio(this.#pixelRatio);
    const still = this.camera.moves ? undefined : this.#assembly.stillness;
    if (this.#still?.works !== true || still === undefined) return this.#renderer.render(this.#scene, this.#eye);
    const drawn = [still, this.camera.now, this.#eye, this.#mmPerPx];
    if (!this.#still.lay(drawn)) {
      this.#eye.layers.set(STILL);
      this.#renderer.render(this.#scene, this.#eye);
      this.#still.keep(drawn);
    }
    this.#eye.layers.set(MOVES);
    this.#renderer.autoClear = false;
    this.#renderer.render(this.#scene, this.#eye);
    this.#renderer.autoClear = true;
    this.#eye.layers.enableAll();
  }

  #rest(): void {
    if (!this.#shown) return;
    this.#pace.rests = true;
    // after a frame in which only the writing changed the neck is as fine as it was
    if (!this.#isFineEnough) this.#paint();
    this.#placeNames();
    this.canvas.dataset["rests"] = "";
  }

  get #eye(): OrthographicCamera | PerspectiveCamera {
    return this.#looking.asSeen ? this.#seen : this.#parallel;
  }

  #aim(): void {
    const { target, span } = this.camera.now;
    const { up, eye } = axes(this.camera.now);
    const half = span / 2;
    this.#parallel.left = -half * this.#aspect;
    this.#parallel.right = half * this.#aspect;
    this.#parallel.top = half;
    this.#parallel.bottom = -half;
    // as far off as makes the target as large as it is in parallel lines
    const distance = half / Math.tan((EYE_DEG * Math.PI) / 360);
    this.#seen.aspect = this.#aspect;
    this.#seen.near = distance * NEAREST;
    this.#seen.far = distance + DEPTH_MM;
    this.#eye.position.set(...add(target, eye, this.#looking.asSeen ? distance : DEPTH_MM));
    this.#eye.up.set(...up);
    this.#eye.lookAt(...target);
    this.#eye.updateProjectionMatrix();
    this.#eye.updateMatrixWorld();
  }

  #directionOf(side: Side): Vec3 {
    switch (side) {
      case "left":
        return [0, 1, 0];
      case "right":
        return [0, -1, 0];
      case "top":
        return [0, 0, 1];
      case "below":
        return [0, 0, -1];
      case "cork":
        return [-1, 0, 0];
      case "tenon":
        // the axis of the horn runs out of the tenon's free end
        return this.#axes?.horn.direction ?? [0, 0, -1];
    }
  }

  /** The eye in a direction, by the shorter way round; straight up or down as the neck lies when seen from the side. */
  #towards(from: Vec3): { yaw: number; pitch: number } {
    const upright = Math.hypot(from[0], from[1]) < 1e-3;
    const yaw = upright ? FROM_THE_SIDE.yaw : Math.atan2(from[1], from[0]);
    const turns = Math.round((this.camera.goal.yaw - yaw) / (2 * Math.PI));
    return { yaw: yaw + turns * 2 * Math.PI, pitch: Math.asin(Math.max(-1, Math.min(1, from[2]))) };
  }

  /** The place in the middle, seen square to the line between its points, from as near the present side as can be. */
  #goTo(place: Place): void {
    const a: Vec3 = place.a_point_mm;
    const b: Vec3 = place.b_point_mm;
    const between = subtract(b, a);
    const gap = Math.sqrt(dot(between, between));
    const { eye } = axes(this.camera.goal);
    const along: Vec3 = gap > 1e-6 ? [between[0] / gap, between[1] / gap, between[2] / gap] : [0, 0, 0];
    const square = subtract(eye, add([0, 0, 0], along, dot(eye, along)));
    const length = Math.sqrt(dot(square, square));
    // looking straight along the line there is no nearest square side: then from the side, which a line along Y needs turned
    const from: Vec3 = length > 0.1 ? [square[0] / length, square[1] / length, square[2] / length] : Math.abs(along[1]) > 0.9 ? [-1, 0, 0] : [0, -1, 0];
    const upright = Math.hypot(from[0], from[1]) < 1e-3;
    const yaw = upright ? this.camera.goal.yaw : Math.atan2(from[1], from[0]);
    const turns = Math.round((this.camera.goal.yaw - yaw) / (2 * Math.PI));
    this.camera.goTo({
      target: add(a, between, 0.5),
      yaw: yaw + turns * 2 * Math.PI,
      pitch: Math.asin(Math.max(-1, Math.min(1, from[2]))),
      span: Math.max(PLACE_SPAN_MM, gap * 3),
    });
  }

  #pick(x: number, y: number): void {
    this.onPick(this.#hit(x, y));
  }

  #hit(x: number, y: number): Picked | undefined {
    return this.#assembly.hit(this.#rayThrough(x, y));
  }

  /**
   * As the eye sees it, coming nearer means walking up to what is looked at: the target goes to the depth of the place under
   * the pointer, the eye staying where it is, or it would walk on into the metal.
   */
  #anchor(x: number, y: number): void {
    if (!this.#looking.asSeen) return;
    const at = this.#hit(x, y)?.at;
    if (at === undefined) return;
    const { target, span } = this.camera.now;
    const { eye } = axes(this.camera.now);
    const beforeMm = span / 2 / Math.tan((EYE_DEG * Math.PI) / 360);
    const nearerMm = dot(subtract([at[0], at[1], at[2]], target), eye);
    const leftMm = beforeMm - nearerMm;
    if (leftMm <= 0) return;
    this.camera.goTo({ ...this.camera.now, target: add(target, eye, nearerMm), span: (span * leftMm) / beforeMm });
    this.camera.arrive();
  }

  #rayThrough(x: number, y: number): Raycaster {
    // the eye may have gone elsewhere since the last frame
    this.#aim();
    const ray = new Raycaster();
    ray.setFromCamera(new Vector2((x / this.#width) * 2 - 1, 1 - (y / this.#height) * 2), this.#eye);
    return ray;
  }

  #grip(): Grip {
    return {
      over: (x, y) => (this.#tube.length > 0 ? this.placing.movedWith(this.#hit(x, y)?.part ?? "") : undefined),
      take: (x, y) => {
        const hit = this.#hit(x, y);
        if (hit === undefined) return;
        this.#hand = spotOnTube(this.#tube, this.#sight(x, y), undefined);
        this.placing.take(hit.part, this.#hand);
      },
      moveTo: (x, y) => {
        this.#hand = spotOnTube(this.#tube, this.#sight(x, y), this.#hand);
        this.placing.moveTo(this.#hand, this.#mmPerPx);
      },
      letGo: () => this.placing.letGo(),
      giveBack: () => this.placing.giveBack(),
    };
  }

  /** The line of sight through a place of the view. */
  #sight(x: number, y: number): Sight {
    const { origin, direction } = this.#rayThrough(x, y).ray;
    return { from: [origin.x, origin.y, origin.z], along: [direction.x, direction.y, direction.z] };
  }

  /** A point over the outside of the tube. */
  #overTube(stationMm: number, azimuthDeg: number, heightMm: number): Vec3 {
    const of = (number: (at: Unrolled["along"][number]) => number) => between(this.#tube, stationMm, number);
    const out = of(({ radius_mm }) => radius_mm) + heightMm;
    const azimuth = (azimuthDeg * Math.PI) / 180;
    const up = out * Math.cos(azimuth);
    return [of(({ x_mm }) => x_mm) - of(({ dz }) => dz) * up, out * Math.sin(azimuth), of(({ z_mm }) => z_mm) + of(({ dx }) => dx) * up];
  }

  #project(point: Vector3): Point {
    const at = point.clone().project(this.#eye);
    return { x: ((at.x + 1) / 2) * this.#width, y: ((1 - at.y) / 2) * this.#height };
  }

  #placeNames(): void {
    const { names, place, placing } = this.#state;
    // beside a part that is held its own numbers are what is read
    if (!names || place !== undefined || placing?.held !== undefined || this.#width < 560) return;
    const covered = new Covered(this.#width, this.#height);
    for (const point of this.#assembly.points()) {
      const { x, y } = this.#project(point);
      covered.mark(x, y);
    }
    const wanted: NameToPlace[] = this.#assembly.anchors().map(({ id, name, at }) => ({ id, text: name, ...this.#project(at), width: name.length * NAME_PX_PER_LETTER }));
    this.#names = placeNames(wanted, covered, [...TAKEN_PX.map((rect) => rect(this.#width, this.#height)), ...this.#written]);
    this.#drawInk();
  }

  #drawInk(): void {
    const { place, failing, unit, placing } = this.#state;
    const onScreen = (point: Vec3) => this.#project(new Vector3(...point));
    const middle = ({ a_point_mm: a, b_point_mm: b }: Pick<Place, "a_point_mm" | "b_point_mm">): Vec3 => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
    const mmPerUnit = unit === "in" ? 25.4 : 1;
    const length = roundMeasure(this.#mmPerPx, this.#width, mmPerUnit);
    // a place has the view to itself, unless a part is being moved there
    const stretches = placing === undefined || (place !== undefined && placing.held === undefined) ? [] : this.#stretches(placing);
    const held = placing?.held === undefined ? undefined : onScreen(this.#overTube(placing.held.spot.stationMm, placing.held.spot.azimuthDeg, 0));
    // what lies in the half that is cut away has nothing to point at
    const marks = place === undefined ? failing.map(middle).filter((point) => this.#isKept(point)).slice(0, MARKS).map(onScreen) : [];
    const labels: Label[] = [
      ...(held === undefined || placing?.held === undefined ? [] : [written("ink-held", placing.held.text, held, "over")]),
      ...(place === undefined ? [] : [written("ink-gap-text", place.text, onScreen(middle(place.at)), "right")]),
      ...stretches.flatMap(({ points, isBegin, isEnd, fromText, toText }) => {
        const label = (at: Point | undefined, text: string) => (at === undefined || !this.#isInView(at) ? [] : [written("ink-stretch-text", text, at, "over")]);
        return [...(isBegin ? label(points[0], fromText) : []), ...(isEnd ? label(points.at(-1), toText) : [])];
      }),
    ];
    const wedges = marks.map(({ x, y }) => ({ left: x - 7, top: y - 16, right: x + 7, bottom: y }));
    const placed = placeLabels(labels, this.#width, this.#height, wedges);
    this.#written = placed.map(({ rect }) => rect);
    const ink = strokesOf({
      stretches,
      held,
      labels: placed,
      gap: place === undefined ? undefined : { a: onScreen(place.at.a_point_mm), b: onScreen(place.at.b_point_mm), isPoint: place.at.pose === "joint" },
      marks,
      names: this.#names,
      measure: this.#opened !== undefined ? { px: (length * mmPerUnit) / this.#mmPerPx, text: `${plainNumber(length)} ${unit}` } : undefined,
      width: this.#width,
      height: this.#height,
    });
    layInk(this.ink, [...ink, ...this.#measureInk(onScreen, unit)]);
  }

  /** Where the part may go, as lines along the tube on the screen; what is cut away of them is left out. */
  #stretches({ stretches, azimuthDeg }: PlacingShown): (StretchLine & { fromText: string; toText: string })[] {
    return stretches.flatMap(({ fromMm, toMm, fromText, toText }) => {
      const steps = Math.max(1, Math.ceil((toMm - fromMm) / STRETCH_STEP_MM));
      const runs: { points: Point[]; isBegin: boolean; isEnd: boolean }[] = [];
      let isOpen = false;
      for (let step = 0; step <= steps; step += 1) {
        const point = this.#overTube(fromMm + ((toMm - fromMm) * step) / steps, azimuthDeg, STRETCH_OFF_MM);
        if (!this.#isKept(point)) {
          isOpen = false;
          continue;
        }
        if (!isOpen) runs.push({ points: [], isBegin: step === 0, isEnd: false });
        isOpen = true;
        const run = runs.at(-1);
        run?.points.push(this.#project(new Vector3(...point)));
        if (run !== undefined) run.isEnd = step === steps;
      }
      return runs.map((run) => ({ ...run, fromText, toText }));
    });
  }

  /** Whether a point lies in what the cut leaves. */
  #isKept(point: Vec3): boolean {
    return this.#plane === undefined || dot(subtract(point, this.#plane.point), this.#plane.away) <= 0;
  }

  #isInView({ x, y }: Point): boolean {
    return x >= 0 && y >= 0 && x <= this.#width && y <= this.#height;
  }

  #measureInk(onScreen: (point: Vec3) => Point, unit: LengthUnit): Stroke[] {
    const { measuring } = this.#looking;
    const ends = endsOf(measuring);
    const points = ends ?? measuring.points.map(({ at }) => at);
    return measureInk({
      points: points.map(onScreen),
      text: ends === undefined ? "" : `${lengthText(apart(...ends), unit)} ${unit}`,
      cross: measuring.picking ? { x: this.#width / 2, y: this.#height / 2 } : undefined,
    });
  }

  get #pixelRatio(): number {
    return Math.min(devicePixelRatio, 2) * this.#pace.share;
  }

  /** What is on the canvas is as fine as it is to be. */
  get #isFineEnough(): boolean {
    return Math.abs(this.#renderer.getPixelRatio() - this.#pixelRatio) <= 1e-6;
  }

  #resize(): void {
    const { clientWidth, clientHeight } = this.canvas;
    this.#shown = clientWidth > 0 && clientHeight > 0;
    if (!this.#shown) return;
    this.#size = { width: clientWidth, height: clientHeight };
    // or the frame that follows would make the canvas anew once more
    this.#pace.rests = false;
    this.#renderer.setPixelRatio(this.#pixelRatio);
    this.#renderer.setSize(this.#width, this.#height, false);
    // a canvas of another size is empty, and the next frame comes after this one is shown
    if (this.#opened === undefined) return;
    if (this.#wholeOwed !== undefined) {
      this.whole(this.#wholeOwed);
      this.#wholeOwed = undefined;
      this.camera.arrive();
    }
    this.#names = [];
    clearTimeout(this.#restTimer);
    this.#stale = true;
    this.#frame(performance.now());
  }

  get #width(): number {
    return this.#size.width;
  }

  get #height(): number {
    return this.#size.height;
  }

  get #aspect(): number {
    return this.#width / this.#height;
  }

  get #mmPerPx(): number {
    return this.camera.now.span / this.#height;
  }
}

/** What drivers that draw without a graphics card call themselves. */
const WITHOUT_A_CARD = /swiftshader|llvmpipe|softpipe|software|basic render/i;

/** A canvas made ready for drawing, edges smoothed where that does not slow it down; throws where the browser has no WebGL. */
function drawingOn(canvas: HTMLCanvasElement): { context: WebGL2RenderingContext; smooths: boolean } {
  // of a canvas in use it cannot be asked first
  const tried = document.createElement("canvas").getContext("webgl2");
  const name = tried?.getExtension("WEBGL_debug_renderer_info")?.UNMASKED_RENDERER_WEBGL;
  const smooths = !WITHOUT_A_CARD.test(String(tried?.getParameter(name ?? tried.RENDERER)));
  tried?.getExtension("WEBGL_lose_context")?.loseContext();
  const context = canvas.getContext("webgl2", { alpha: true, depth: true, stencil: true, antialias: smooths, powerPreference: "low-power" });
  if (context === null) throw new Error("no WebGL");
  return { context, smooths };
}

/** A number to be placed beside its point. */
function written(kind: string, text: string, { x, y }: Point, side: Label["side"]): Label {
  return { kind, text, x, y, side, widthPx: widthOf(text, kind), heightPx: 18 };
}

function farOff({ x_mm, z_mm }: Unrolled["along"][number], [x, y, z]: Vec3): number {
  return Math.hypot(x - x_mm, y, z - z_mm);
}

/** Whether the view has to go to a place after another. Where the key is moved by hand the same pair is followed from where one is. */
function isElsewhere(before: Place, place: Place): boolean {
  if (before.a !== place.a || before.b !== place.b) return true;
  return place.pose !== "at" && before.pose !== "at" && (before.pose !== place.pose || before.horn_angle_deg !== place.horn_angle_deg);
}

/** Whether a part is held, and not only one that could be. */
function isHeld({ placing }: ViewState): boolean {
  return placing?.held !== undefined;
}

/** Whether the neck itself is drawn alike, whatever is written over it. */
function isDrawnAlike(before: ViewState, now: ViewState): boolean {
  const place = ({ place: shown }: ViewState) => shown && `${shown.at.a} ${shown.at.b} ${shown.at.horn_angle_deg ?? 0}`;
  return before.hidden === now.hidden && before.chosen === now.chosen && before.keyDeg === now.keyDeg && isHeld(before) === isHeld(now) && place(before) === place(now);
}
