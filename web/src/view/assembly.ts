// The parts of the neck as things to draw: buffers from the worker into geometry, metals on them, an ink line round each.
import { BackSide, BufferAttribute, BufferGeometry, Color, DoubleSide, Group, type Intersection, Mesh, MeshBasicMaterial, MeshMatcapMaterial, NotEqualStencilFunc, type Plane, type Raycaster, ReplaceStencilOp, ShaderMaterial, type Texture, Vector3 } from "three";
import { partTitle } from "../state/cards.ts";
import type { Axes, PartInfo, PartMesh } from "../worker/protocol.ts";
import { type CutPlane, hatchOf, type Picked } from "../state/looking.ts";
import type { Box, Vec3 } from "./camera.ts";
import { CutFaces, type CutPart, keptSide } from "./cut.ts";
import { ball, type Light } from "./metals.ts";

/** Width of the line round a part, and round the chosen one, in CSS pixels. */
const INK_PX = 1.1;
const CHOSEN_PX = 2.6;
const GHOST_OPACITY = 0.2;
/** A keep-out is hatched and seen through: strong lines, or faint ones where it is not what is looked at. */
const KEEP_OUT_STRENGTH = 1;
const KEEP_OUT_FAINT = 0.35;
/** After the cut faces, each before the line round it. */
const KEEP_OUT_ORDER = 200;

/** How closely shown parts are sampled when room for names is looked for: edges of a part, and a distance along them. */
const EDGES_SAMPLED = 2000;
const SAMPLE_MM = 2.5;

/** Layers of the scene: what stands still while a part is held, and what moves with it. */
export const STILL = 0;
export const MOVES = 1;

/** Keep-outs that stay with the horn when the player turns the neck. */
const HORN: ReadonlySet<string> = new Set(["receiver", "clamp_screw", "octave_pin"]);

export interface Appearance {
  light: Light;
  /** Colour of the line round parts. */
  ink: string;
  /** Colour of the line round the chosen part. */
  accent: string;
  /** Colour of what is only kept clear. */
  keepOut: string;
}

interface Piece {
  info: PartInfo;
  surface: Mesh<BufferGeometry, MeshMatcapMaterial | ShaderMaterial>;
  line: Mesh<BufferGeometry, ShaderMaterial>;
  /** A point on the part near its middle, for its name; looked for when it is wanted. */
  anchor: Vector3 | undefined;
  /** Quick to draw, and as it is looked at; the same until a finer one comes. */
  coarse: Made;
  fine: Made;
  /** The one of the two that is shown. */
  shown: Made;
}

interface Made {
  geometry: BufferGeometry;
  /** How far its triangles may lie off the true surface. */
  chordMm: number;
}

export interface Shown {
  hidden: ReadonlySet<string>;
  chosen: string | undefined;
  /** When a row of the list is looked at: its two parts stay solid and shown, all others turn to ghosts. */
  pair: readonly [string, string] | undefined;
  /** The part that is shown alone, all others faint. */
  alone: string | undefined;
  cut: CutPlane | undefined;
}

export class Assembly {
  readonly root = new Group();
  /** Parts that move with the key, turned about the hinge axis. */
  readonly #key = new Group();
  /** Parts of the horn, turned about the tenon: the neck stays where it is and the horn turns under it. */
  readonly #horn = new Group();
  #axes: Axes | undefined;
  #pieces = new Map<string, Piece>();
  #infos = new Map<string, PartInfo>();
  #balls = new Map<string, Texture>();
  #appearance: Appearance;
  #shown: Shown = { hidden: new Set(), chosen: undefined, pair: undefined, alone: undefined, cut: undefined };
  readonly #faces = new CutFaces();
  /** What is kept of a cut neck. */
  #kept: Plane | undefined;
  /** The cut faces are of a neck or of a cut that is no more. */
  #facesStale = false;
  #inkMm = 0.1;
  #isCoarse = false;
  /** Another one whenever what stands still looks otherwise, but for the eye that sees it. */
  #stillness = {};
  /** Angles of key and horn. */
  #turned: readonly [number, number] = [0, 0];

  constructor(appearance: Appearance) {
    this.#appearance = appearance;
    this.root.add(this.#key, this.#horn, this.#faces.root);
  }

  /** The parts of a new neck. Parts that are gone are put away; those that stay keep their mesh until a new one comes. */
  setParts(infos: readonly PartInfo[], axes: Axes): void {
    this.#axes = axes;
    this.#infos = new Map(infos.map((info) => [info.id, info]));
    for (const [id, piece] of this.#pieces) {
      const info = this.#infos.get(id);
      if (info === undefined) this.#drop(id);
      else piece.info = info;
    }
    this.#dress();
  }

  /** The same parts with other axes. */
  setAxes(axes: Axes): void {
    this.#axes = axes;
  }

  /** Coarse meshes are of a new shape, finer ones of the shape that is there. */
  setMeshes(meshes: readonly PartMesh[], chordMm: number): void {
    let isNew = false;
    for (const mesh of meshes) {
      const info = this.#infos.get(mesh.part);
      if (info === undefined) continue;
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(mesh.positions, 3));
      geometry.setAttribute("normal", new BufferAttribute(mesh.normals, 3));
      geometry.setAttribute("outward", new BufferAttribute(mesh.outward, 3));
      geometry.setIndex(new BufferAttribute(mesh.indices, 1));
      const made: Made = { geometry, chordMm };
      const there = this.#pieces.get(mesh.part);
      if (there?.info === info) {
        if (there.coarse.chordMm > chordMm) {
          if (there.fine !== there.coarse) there.fine.geometry.dispose();
          there.fine = made;
        } else {
          there.fine.geometry.dispose();
          there.coarse.geometry.dispose();
          there.coarse = made;
          there.fine = made;
          if (this.#isCoarse) this.#setLayer(there, MOVES);
        }
        this.#lay(there);
        continue;
      }
      isNew = true;
      this.#drop(mesh.part);
      const surface = new Mesh<BufferGeometry, MeshMatcapMaterial | ShaderMaterial>(geometry, info.keepout ? keepOutMaterial() : new MeshMatcapMaterial());
      const line = new Mesh(geometry, inkMaterial(info.keepout));
      surface.name = mesh.part;
      // the line is drawn only where the keep-out itself is not, and the next one begins afresh
      if (info.keepout) line.onAfterRender = (renderer) => renderer.clearStencil();
      this.#pieces.set(mesh.part, { info, surface, line, anchor: undefined, coarse: made, fine: made, shown: made });
      (info.movesWithKey ? this.#key : HORN.has(info.id) ? this.#horn : this.root).add(surface, line);
    }
    if (isNew) this.#dress();
  }

  /** While a part is held all are drawn from their coarse meshes, which are a fraction of the work. */
  setCoarse(coarse: boolean): void {
    if (coarse === this.#isCoarse) return;
    this.#isCoarse = coarse;
    this.#stillness = {};
    for (const piece of this.#pieces.values()) {
      this.#setLayer(piece, STILL);
      this.#lay(piece);
    }
  }

  /**
   * While a part is held: a value that stays the same as long as the parts that do not move look the same to the same eye.
   * Undefined where they cannot be drawn before those that move: where some are seen through, or cut.
   */
  get stillness(): unknown {
    const { pair, alone, cut } = this.#shown;
    const isSolid = pair === undefined && alone === undefined && cut === undefined && ![...this.#pieces.values()].some(({ info, surface }) => info.keepout && surface.visible);
    return this.#isCoarse && isSolid ? this.#stillness : undefined;
  }

  #setLayer({ surface, line }: Piece, layer: number): void {
    if (surface.layers.isEnabled(layer)) return;
    surface.layers.set(layer);
    line.layers.set(layer);
    this.#stillness = {};
  }

  #lay(piece: Piece): void {
    const shown = this.#isCoarse ? piece.coarse : piece.fine;
    if (piece.shown === shown) return;
    piece.shown = shown;
    piece.surface.geometry = shown.geometry;
    piece.line.geometry = shown.geometry;
    piece.anchor = undefined;
    this.#facesStale = true;
  }

  setAppearance(appearance: Appearance): void {
    for (const texture of this.#balls.values()) texture.dispose();
    this.#balls.clear();
    this.#appearance = appearance;
    this.#dress();
  }

  show(shown: Shown): void {
    this.#shown = shown;
    this.#kept = shown.cut === undefined ? undefined : keptSide(shown.cut);
    this.#dress();
  }

  /** Fills the cut faces again if anything has changed; says which parts are cut, or nothing where they are as they were. */
  layFaces(): string[] | undefined {
    if (!this.#facesStale) return undefined;
    this.#facesStale = false;
    const places = [...this.#infos.keys()];
    const parts = [...this.#infos.values()].flatMap((info): CutPart[] => {
      const piece = this.#pieces.get(info.id);
      if (piece === undefined || !piece.surface.visible || this.#isFaint(info)) return [];
      return [{ id: info.id, surface: piece.surface, colour: info.colour, hatch: hatchOf(places.indexOf(info.id)), bare: info.keepout }];
    });
    return this.#faces.lay(parts, this.#shown.cut, this.#appearance.ink);
  }

  /** The line is as wide on the screen however near the neck is. */
  setScale(mmPerPixel: number): void {
    this.#inkMm = mmPerPixel;
    this.#faces.setScale(mmPerPixel);
    for (const { info, line } of this.#pieces.values()) this.#inkWidth(info.id, line);
  }

  /** Opens the key, and turns the horn under the neck, by angles in degrees. */
  turn(keyDeg: number, hornDeg: number): void {
    if (this.#axes === undefined) return;
    turnAbout(this.#key, this.#axes.key, keyDeg);
    turnAbout(this.#horn, this.#axes.horn, hornDeg);
    // at any other angle than closed the axes, too, say where a part is
    if (keyDeg !== 0 || hornDeg !== 0 || keyDeg !== this.#turned[0] || hornDeg !== this.#turned[1]) this.#stillness = {};
    this.#turned = [keyDeg, hornDeg];
    this.#facesStale ||= this.#shown.cut !== undefined;
  }

  /**
   * The nearest place of a part that a line of sight meets: on its surface, or on its cut face. What is hidden, faint, only
   * kept clear or cut away is not there for it.
   */
  hit(ray: Raycaster): Picked | undefined {
    const probe = new Mesh(undefined, new MeshBasicMaterial({ side: DoubleSide }));
    let nearest: { distance: number; picked: Picked } | undefined;
    for (const { info, surface, shown } of this.#pieces.values()) {
      if (!surface.visible || info.keepout || this.#isFaint(info)) continue;
      probe.geometry = surface.geometry;
      probe.matrixWorld.copy(surface.matrixWorld);
      const found: Intersection[] = [];
      probe.raycast(ray, found);
      const first = found.sort((a, b) => a.distance - b.distance).find(({ point }) => (this.#kept?.distanceToPoint(point) ?? 0) >= 0);
      if (first?.face == null) continue;
      const leaves = first.face.normal.clone().transformDirection(surface.matrixWorld).dot(ray.ray.direction) > 0;
      // a line that leaves a part before it went into it came in by the cut
      const cut = leaves && this.#kept !== undefined ? ray.ray.intersectPlane(this.#kept, new Vector3()) : null;
      const point = cut ?? first.point;
      const distance = point.distanceTo(ray.ray.origin);
      if (nearest !== undefined && nearest.distance <= distance) continue;
      nearest = { distance, picked: { part: info.id, at: [point.x, point.y, point.z], toleranceMm: cut === null ? shown.chordMm : 0, onCut: cut !== null } };
    }
    probe.material.dispose();
    return nearest?.picked;
  }

  /** Middle of the box of a part that is shown. */
  middleOf(id: string): Vec3 | undefined {
    const box = this.#isHidden(id) ? undefined : this.#infos.get(id)?.bboxMm;
    return box === undefined ? undefined : [(box[0][0] + box[1][0]) / 2, (box[0][1] + box[1][1]) / 2, (box[0][2] + box[1][2]) / 2];
  }

  /** Where the names of shown parts point to. */
  anchors(): { id: string; name: string; at: Vector3 }[] {
    return [...this.#pieces.values()]
      .filter(({ info, surface }) => surface.visible && !this.#isFaint(info))
      .map((piece) => ({ id: piece.info.id, name: piece.info.keepout ? `${partTitle(piece.info)}, kept clear` : partTitle(piece.info), at: piece.surface.localToWorld(anchorOf(piece).clone()) }))
      .filter(({ at }) => (this.#kept?.distanceToPoint(at) ?? 0) >= 0);
  }

  /** Points spread over all shown parts, dense enough to tell where names would cover something. */
  *points(): Generator<Vector3> {
    const [from, to, point] = [new Vector3(), new Vector3(), new Vector3()];
    for (const { surface } of this.#pieces.values()) {
      const positions = surface.geometry.getAttribute("position");
      const indices = surface.geometry.getIndex();
      if (!surface.visible || indices === null) continue;
      // along the edges too: a straight run of tube is a few long triangles with nothing between their corners
      const stride = 3 * Math.max(1, Math.floor(indices.count / 3 / EDGES_SAMPLED));
      for (let index = 0; index + 1 < indices.count; index += stride) {
        from.fromBufferAttribute(positions, indices.getX(index));
        to.fromBufferAttribute(positions, indices.getX(index + 1));
        const steps = Math.min(60, Math.ceil(from.distanceTo(to) / SAMPLE_MM));
        for (let step = 0; step <= steps; step += 1) yield surface.localToWorld(point.lerpVectors(from, to, step / Math.max(steps, 1)));
      }
    }
  }

  /** Box of what the core says of the shown parts; undefined when nothing is shown. */
  box(): Box | undefined {
    const boxes = [...this.#infos.values()].filter((info) => !this.#isHidden(info.id)).map((info) => info.bboxMm);
    if (boxes.length === 0) return undefined;
    const over = (pick: (...values: number[]) => number, side: 0 | 1): Vec3 => [
      pick(...boxes.map((box) => box[side][0])),
      pick(...boxes.map((box) => box[side][1])),
      pick(...boxes.map((box) => box[side][2])),
    ];
    return { min: over(Math.min, 0), max: over(Math.max, 1) };
  }

  #isHidden(id: string): boolean {
    const { hidden, pair, alone } = this.#shown;
    return pair?.includes(id) === true || id === alone ? false : hidden.has(id);
  }

  /** Whether it is shown only so that one sees where the others are. */
  #isFaint({ id }: PartInfo): boolean {
    const { pair, alone } = this.#shown;
    return pair === undefined ? alone !== undefined && id !== alone : !pair.includes(id);
  }

  #dress(): void {
    const { chosen } = this.#shown;
    const clip = this.#kept === undefined ? null : [this.#kept];
    let keepOuts = 0;
    for (const [id, { info, surface, line }] of this.#pieces) {
      const faint = this.#isFaint(info);
      surface.visible = !this.#isHidden(id);
      // what is faint hides nothing, so its line may not either
      line.visible = surface.visible && !faint;
      surface.material.clippingPlanes = clip;
      line.material.clippingPlanes = clip;
      if (surface.material instanceof ShaderMaterial) {
        const { ink, strength } = keepOutOf(surface.material);
        ink.value.set(id === chosen ? this.#appearance.accent : this.#appearance.keepOut);
        strength.value = faint ? KEEP_OUT_FAINT : KEEP_OUT_STRENGTH;
        surface.renderOrder = KEEP_OUT_ORDER + 2 * keepOuts;
        line.renderOrder = surface.renderOrder + 1;
        keepOuts += 1;
      } else this.#dressPart(info, surface.material, faint);
      if (!info.keepout) surface.renderOrder = faint ? 1 : 0;
      inkOf(line).ink.value.set(id === chosen ? this.#appearance.accent : info.keepout ? this.#appearance.keepOut : this.#appearance.ink);
      this.#inkWidth(id, line);
    }
    this.#stillness = {};
    this.#facesStale = true;
  }

  #dressPart(info: PartInfo, material: MeshMatcapMaterial, faint: boolean): void {
    material.matcap = this.#ball(info);
    material.opacity = faint ? GHOST_OPACITY : 1;
    material.depthWrite = !faint;
    if (material.transparent === faint) return;
    material.transparent = faint;
    material.needsUpdate = true;
  }

  #inkWidth(id: string, line: Piece["line"]): void {
    inkOf(line).reachMm.value = this.#inkMm * (id === this.#shown.chosen ? CHOSEN_PX : INK_PX);
  }

  #ball(info: PartInfo): Texture {
    const isMetal = info.metal !== "cork" && info.metal !== "felt";
    const key = `${info.colour} ${isMetal}`;
    const made = this.#balls.get(key) ?? ball(info.colour, isMetal, this.#appearance.light);
    this.#balls.set(key, made);
    return made;
  }

  #drop(id: string): void {
    const piece = this.#pieces.get(id);
    if (piece === undefined) return;
    piece.surface.removeFromParent();
    piece.line.removeFromParent();
    piece.coarse.geometry.dispose();
    piece.fine.geometry.dispose();
    piece.surface.material.dispose();
    piece.line.material.dispose();
    this.#pieces.delete(id);
  }
}

function turnAbout(group: Group, axis: Axes["key"], degrees: number): void {
  const point = new Vector3(...axis.pointMm);
  group.quaternion.setFromAxisAngle(new Vector3(...axis.direction), (degrees * Math.PI) / 180);
  group.position.copy(point).sub(point.clone().applyQuaternion(group.quaternion));
  group.updateMatrixWorld(true);
}

interface InkUniforms {
  ink: { value: Color };
  reachMm: { value: number };
}

function inkOf(line: Mesh<BufferGeometry, ShaderMaterial>): InkUniforms {
  return line.material.uniforms as unknown as InkUniforms;
}

/**
 * Draws the part's far side, grown by the width of the line: what stands out round the part is the line. A keep-out hides
 * nothing that lies behind it, so there the line is kept off the keep-out itself; it is dashed.
 */
function inkMaterial(dashed: boolean): ShaderMaterial {
  return new ShaderMaterial({
    side: BackSide,
    clipping: true,
    ...(dashed ? { transparent: true, depthWrite: false, stencilWrite: true, stencilRef: 1, stencilFunc: NotEqualStencilFunc, defines: { DASHED: "" } } : {}),
    uniforms: { ink: { value: new Color() }, reachMm: { value: 0.1 } } satisfies InkUniforms,
    vertexShader: `
      #include <clipping_planes_pars_vertex>
      uniform float reachMm;
      attribute vec3 outward;
      void main() {
        vec4 mvPosition = modelViewMatrix * vec4(position, 1.0);
        mvPosition.xyz += normalize(normalMatrix * outward) * reachMm;
        gl_Position = projectionMatrix * mvPosition;
        #include <clipping_planes_vertex>
      }`,
    fragmentShader: `
      #include <clipping_planes_pars_fragment>
      uniform vec3 ink;
      void main() {
        #include <clipping_planes_fragment>
        #ifdef DASHED
          if (mod(gl_FragCoord.x + 0.5 * gl_FragCoord.y, 14.0) > 8.0) discard;
        #endif
        gl_FragColor = vec4(ink, 1.0);
        #include <colorspace_fragment>
      }`,
  });
}

interface KeepOutUniforms {
  ink: { value: Color };
  strength: { value: number };
}

function keepOutOf(material: ShaderMaterial): KeepOutUniforms {
  return material.uniforms as unknown as KeepOutUniforms;
}

/** Hatched and seen through, as what is not made but must be left room for is drawn. */
function keepOutMaterial(): ShaderMaterial {
  return new ShaderMaterial({
    transparent: true,
    depthWrite: false,
    clipping: true,
    stencilWrite: true,
    stencilRef: 1,
    stencilZPass: ReplaceStencilOp,
    uniforms: { ink: { value: new Color() }, strength: { value: 1 } } satisfies KeepOutUniforms,
    vertexShader: `
      #include <clipping_planes_pars_vertex>
      varying float facing;
      void main() {
        vec4 mvPosition = modelViewMatrix * vec4(position, 1.0);
        facing = abs(normalize(normalMatrix * normal).z);
        gl_Position = projectionMatrix * mvPosition;
        #include <clipping_planes_vertex>
      }`,
    fragmentShader: `
      #include <clipping_planes_pars_fragment>
      uniform vec3 ink;
      uniform float strength;
      varying float facing;
      void main() {
        #include <clipping_planes_fragment>
        float off = abs(fract((gl_FragCoord.x - gl_FragCoord.y) / 11.0) - 0.5) * 11.0;
        float line = 1.0 - smoothstep(0.4, 1.2, off);
        gl_FragColor = vec4(ink, strength * (0.1 + 0.14 * (1.0 - facing) + 0.4 * line));
        #include <colorspace_fragment>
      }`,
  });
}

/** A point on the part near its middle. */
function anchorOf(piece: Piece): Vector3 {
  piece.anchor ??= middleCorner(piece.surface.geometry.getAttribute("position").array);
  return piece.anchor;
}

/** The corner of the mesh nearest to the mean of them all: on the part, and near its middle even where the part is bent. */
function middleCorner(positions: ArrayLike<number>): Vector3 {
  const mean = new Vector3();
  const point = new Vector3();
  const count = positions.length / 3;
  for (let index = 0; index < count; index += 1) mean.add(point.fromArray(positions, index * 3));
  mean.divideScalar(Math.max(count, 1));
  const nearest = new Vector3();
  let least = Infinity;
  for (let index = 0; index < count; index += 1) {
    const apart = point.fromArray(positions, index * 3).distanceToSquared(mean);
    if (apart < least) {
      least = apart;
      nearest.copy(point);
    }
  }
  return nearest;
}
