// The parts of the neck as things to draw: buffers from the worker into geometry, metals on them, an ink line round each.
import { BackSide, BufferAttribute, BufferGeometry, Color, Group, Mesh, MeshMatcapMaterial, type Object3D, ShaderMaterial, type Texture, Vector3 } from "three";
import { partTitle } from "../state/cards.ts";
import type { Axes, PartInfo, PartMesh } from "../worker/protocol.ts";
import type { Box, Vec3 } from "./camera.ts";
import { ball, type Light } from "./metals.ts";

/** Width of the line round a part, and round the chosen one, in CSS pixels. */
const INK_PX = 1.1;
const CHOSEN_PX = 2.6;
const GHOST_OPACITY = 0.2;
/** A keep-out that is looked at: there, but not metal. */
const KEEP_OUT_OPACITY = 0.5;

/** How closely shown parts are sampled when room for names is looked for: edges of a part, and a distance along them. */
const EDGES_SAMPLED = 2000;
const SAMPLE_MM = 2.5;

/** Keep-outs that stay with the horn when the player turns the neck. */
const HORN: ReadonlySet<string> = new Set(["receiver", "clamp_screw", "octave_pin"]);

export interface Appearance {
  light: Light;
  /** Colour of the line round parts. */
  ink: string;
  /** Colour of the line round the chosen part. */
  accent: string;
}

interface Piece {
  info: PartInfo;
  surface: Mesh<BufferGeometry, MeshMatcapMaterial>;
  line: Mesh<BufferGeometry, ShaderMaterial>;
  /** A point on the part near its middle, for its name. */
  anchor: Vector3;
}

export interface Shown {
  hidden: ReadonlySet<string>;
  chosen: string | undefined;
  /** When a row of the list is looked at: its two parts stay solid and shown, all others turn to ghosts. */
  pair: readonly [string, string] | undefined;
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
  #shown: Shown = { hidden: new Set(), chosen: undefined, pair: undefined };
  #inkMm = 0.1;

  constructor(appearance: Appearance) {
    this.#appearance = appearance;
    this.root.add(this.#key, this.#horn);
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

  setMeshes(meshes: readonly PartMesh[]): void {
    for (const mesh of meshes) {
      const info = this.#infos.get(mesh.part);
      if (info === undefined) continue;
      const geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(mesh.positions, 3));
      geometry.setAttribute("normal", new BufferAttribute(mesh.normals, 3));
      geometry.setAttribute("outward", new BufferAttribute(mesh.outward, 3));
      geometry.setIndex(new BufferAttribute(mesh.indices, 1));
      this.#drop(mesh.part);
      const surface = new Mesh(geometry, new MeshMatcapMaterial());
      const line = new Mesh(geometry, inkMaterial());
      surface.name = mesh.part;
      this.#pieces.set(mesh.part, { info, surface, line, anchor: anchorOf(mesh.positions) });
      (info.movesWithKey ? this.#key : HORN.has(info.id) ? this.#horn : this.root).add(surface, line);
    }
    this.#dress();
  }

  setAppearance(appearance: Appearance): void {
    for (const texture of this.#balls.values()) texture.dispose();
    this.#balls.clear();
    this.#appearance = appearance;
    this.#dress();
  }

  show(shown: Shown): void {
    this.#shown = shown;
    this.#dress();
  }

  /** The line is as wide on the screen however near the neck is. */
  setScale(mmPerPixel: number): void {
    this.#inkMm = mmPerPixel;
    for (const { info, line } of this.#pieces.values()) this.#inkWidth(info.id, line);
  }

  /** Opens the key, and turns the horn under the neck, by angles in degrees. */
  turn(keyDeg: number, hornDeg: number): void {
    if (this.#axes === undefined) return;
    turnAbout(this.#key, this.#axes.key, keyDeg);
    turnAbout(this.#horn, this.#axes.horn, hornDeg);
  }

  /** Surfaces a click can land on. */
  get solids(): Object3D[] {
    return [...this.#pieces.values()].filter(({ surface }) => surface.visible && !surface.material.transparent).map(({ surface }) => surface);
  }

  /** Where the names of shown parts point to. */
  anchors(): { id: string; name: string; at: Vector3 }[] {
    return [...this.#pieces.values()]
      .filter(({ surface }) => surface.visible)
      .map(({ info, surface, anchor }) => ({ id: info.id, name: partTitle(info), at: surface.localToWorld(anchor.clone()) }));
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
    const { hidden, pair } = this.#shown;
    return pair?.includes(id) === true ? false : hidden.has(id);
  }

  #dress(): void {
    const { chosen, pair } = this.#shown;
    for (const [id, { info, surface, line }] of this.#pieces) {
      const inPair = pair?.includes(id) === true;
      const ghost = pair === undefined ? info.keepout : !inPair;
      const opacity = ghost ? GHOST_OPACITY : info.keepout ? KEEP_OUT_OPACITY : 1;
      const clear = opacity < 1;
      surface.visible = !this.#isHidden(id);
      // a ghost hides nothing, so its line may not either
      line.visible = surface.visible && !ghost;
      surface.renderOrder = clear ? 1 : 0;
      const material = surface.material;
      material.matcap = this.#ball(info);
      material.opacity = opacity;
      material.depthWrite = !clear;
      if (material.transparent !== clear) {
        material.transparent = clear;
        material.needsUpdate = true;
      }
      inkOf(line).ink.value.set(id === chosen ? this.#appearance.accent : this.#appearance.ink);
      this.#inkWidth(id, line);
    }
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
    piece.surface.geometry.dispose();
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

/** Draws the part's far side, grown by the width of the line: what stands out round the part is the line. */
function inkMaterial(): ShaderMaterial {
  return new ShaderMaterial({
    side: BackSide,
    uniforms: { ink: { value: new Color() }, reachMm: { value: 0.1 } } satisfies InkUniforms,
    vertexShader: `
      uniform float reachMm;
      attribute vec3 outward;
      void main() {
        vec4 place = modelViewMatrix * vec4(position, 1.0);
        place.xyz += normalize(normalMatrix * outward) * reachMm;
        gl_Position = projectionMatrix * place;
      }`,
    fragmentShader: `
      uniform vec3 ink;
      void main() {
        gl_FragColor = vec4(ink, 1.0);
        #include <colorspace_fragment>
      }`,
  });
}

/** The corner of the mesh nearest to the mean of them all: on the part, and near its middle even where the part is bent. */
function anchorOf(positions: Float32Array): Vector3 {
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
