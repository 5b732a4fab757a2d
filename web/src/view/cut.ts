// The neck cut open: the cut face of every part filled with its metal and hatched in its own way. A face is filled exactly
// where a line of sight has gone into the part more often than out of it, counted in the stencil; so whatever is not metal
// there, a joint's gap too, stays open. The meshes are closed, or the count would not come out.
import {
  AlwaysStencilFunc,
  BackSide,
  BufferAttribute,
  BufferGeometry,
  Color,
  DecrementWrapStencilOp,
  FrontSide,
  Group,
  IncrementWrapStencilOp,
  LineBasicMaterial,
  LineSegments,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  NotEqualStencilFunc,
  Plane,
  PlaneGeometry,
  ReplaceStencilOp,
  ShaderMaterial,
  type Side,
  Vector2,
  Vector3,
} from "three";
import type { CutPlane, Hatch } from "../state/looking.ts";

/** Larger than any neck with its mouthpiece and horn. */
const FACE_MM = 2000;
/** Lines of a hatch are about this far apart on the screen, and this wide. */
const HATCH_PX = 7;
const HATCH_WIDE_PX = 1.1;
/** The outline lies this far in front of the face, so that the face does not cover it. */
const OUTLINE_OFF_MM = 0.01;
/** After everything that is opaque. */
const FIRST_ORDER = 10;

/** A part that may be cut. */
export interface CutPart {
  id: string;
  /** In its place, with the key turned as it is. */
  surface: Mesh;
  colour: string;
  hatch: Hatch;
  /** Only its outline is drawn and its hatch, without metal: it is not made, only kept clear. */
  bare: boolean;
}

/** What three.js clips by: it keeps the side the plane's normal points to. */
export function keptSide({ point, away }: CutPlane): Plane {
  return new Plane().setFromNormalAndCoplanarPoint(new Vector3(...away).negate(), new Vector3(...point));
}

export class CutFaces {
  readonly root = new Group();
  readonly #square = new PlaneGeometry(FACE_MM, FACE_MM);
  #faces: { face: Mesh<PlaneGeometry, ShaderMaterial>; outline: LineSegments; counts: Mesh[] }[] = [];
  #mmPerPx = 0.1;

  /** Lays a face on every part the plane goes through, and says which they are. */
  lay(parts: readonly CutPart[], plane: CutPlane | undefined, ink: string): string[] {
    this.#clear();
    if (plane === undefined) return [];
    const kept = keptSide(plane);
    const place = faceMatrix(plane);
    const cut: string[] = [];
    for (const part of parts) {
      const outline = outlineOf(part.surface, kept);
      if (outline === undefined) continue;
      const order = FIRST_ORDER + 2 * cut.length;
      cut.push(part.id);
      const counts = [BackSide, FrontSide].map((side) => countMesh(part.surface, side as Side, kept, order));
      const face = new Mesh(this.#square, faceMaterial(part, ink));
      face.matrixAutoUpdate = false;
      face.matrix.copy(place);
      face.renderOrder = order + 1;
      face.frustumCulled = false;
      face.onAfterRender = (renderer) => renderer.clearStencil();
      const line = new LineSegments(outline, new LineBasicMaterial({ color: ink }));
      line.position.set(...plane.away).multiplyScalar(OUTLINE_OFF_MM);
      line.renderOrder = order + 1;
      this.#faces.push({ face, outline: line, counts });
      this.root.add(...counts, face, line);
    }
    this.root.updateMatrixWorld(true);
    this.setScale(this.#mmPerPx);
    return cut;
  }

  /** Hatches are as dense on the screen however near the neck is, in steps of two, so that they do not crawl. */
  setScale(mmPerPx: number): void {
    this.#mmPerPx = mmPerPx;
    for (const { face } of this.#faces) {
      const uniforms = face.material.uniforms as unknown as FaceUniforms;
      uniforms.spacingMm.value = HATCH_PX * 2 ** Math.round(Math.log2(mmPerPx));
      uniforms.halfWideMm.value = (HATCH_WIDE_PX / 2) * mmPerPx;
    }
  }

  #clear(): void {
    for (const { face, outline, counts } of this.#faces) {
      face.material.dispose();
      outline.geometry.dispose();
      (outline.material as LineBasicMaterial).dispose();
      for (const count of counts) (count.material as MeshBasicMaterial).dispose();
    }
    this.#faces = [];
    this.root.clear();
  }
}

/** Counts, unseen, how often a line of sight leaves the part (its back) or goes into it (its front) behind the cut. */
function countMesh(surface: Mesh, side: Side, kept: Plane, order: number): Mesh {
  const step = side === BackSide ? IncrementWrapStencilOp : DecrementWrapStencilOp;
  const material = new MeshBasicMaterial({
    side,
    clippingPlanes: [kept],
    colorWrite: false,
    depthWrite: false,
    depthTest: false,
    stencilWrite: true,
    stencilFunc: AlwaysStencilFunc,
    stencilFail: step,
    stencilZFail: step,
    stencilZPass: step,
  });
  const mesh = new Mesh(surface.geometry, material);
  mesh.matrixAutoUpdate = false;
  mesh.matrix.copy(surface.matrixWorld);
  mesh.renderOrder = order;
  return mesh;
}

interface FaceUniforms {
  colour: { value: Color };
  ink: { value: Color };
  direction: { value: Vector2 };
  kind: { value: number };
  bare: { value: boolean };
  spacingMm: { value: number };
  halfWideMm: { value: number };
}

function faceMaterial({ colour, hatch, bare }: CutPart, ink: string): ShaderMaterial {
  const angle = (hatch.deg * Math.PI) / 180;
  return new ShaderMaterial({
    stencilWrite: true,
    stencilRef: 0,
    stencilFunc: NotEqualStencilFunc,
    stencilFail: ReplaceStencilOp,
    stencilZFail: ReplaceStencilOp,
    stencilZPass: ReplaceStencilOp,
    // seen from behind too, where nothing lies before it
    side: 2,
    uniforms: {
      colour: { value: new Color(colour) },
      ink: { value: new Color(ink) },
      direction: { value: new Vector2(-Math.sin(angle), Math.cos(angle)) },
      kind: { value: hatch.kind },
      bare: { value: bare },
      spacingMm: { value: 1 },
      halfWideMm: { value: 0.1 },
    } satisfies FaceUniforms,
    vertexShader: `
      varying vec2 place;
      void main() {
        place = position.xy;
        gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
      }`,
    fragmentShader: `
      uniform vec3 colour;
      uniform vec3 ink;
      uniform vec2 direction;
      uniform float kind;
      uniform bool bare;
      uniform float spacingMm;
      uniform float halfWideMm;
      varying vec2 place;
      float line(float across, float spacing) {
        float off = abs(fract(across / spacing + 0.5) - 0.5) * spacing;
        return 1.0 - smoothstep(halfWideMm * 0.6, halfWideMm * 1.6, off);
      }
      void main() {
        float across = dot(place, direction);
        float along = dot(place, vec2(direction.y, -direction.x));
        float lines = line(across, kind > 0.5 ? spacingMm * 1.6 : spacingMm);
        if (kind > 0.5 && kind < 1.5) lines = max(lines, line(across + spacingMm * 0.45, spacingMm * 1.6));
        if (kind > 1.5) lines = max(lines, line(along, spacingMm * 1.6));
        if (bare && lines < 0.5) discard;
        gl_FragColor = vec4(mix(colour, ink, lines * 0.8), 1.0);
        #include <colorspace_fragment>
      }`,
  });
}

/** The face's own frame: level to the right where it can be, its hatch fixed to the point of the cut. */
function faceMatrix({ point, away }: CutPlane): Matrix4 {
  const out = new Vector3(...away);
  const level = new Vector3(0, 1, 0).cross(out);
  if (level.length() < 0.1) level.set(1, 0, 0);
  level.normalize();
  const up = out.clone().cross(level).normalize();
  return new Matrix4().makeBasis(level, up, out).setPosition(...point);
}

/** The lines in which the plane goes through the triangles of a part; nothing where it misses it. */
function outlineOf(surface: Mesh, kept: Plane): BufferGeometry | undefined {
  const { geometry } = surface;
  if (geometry.boundingSphere === null) geometry.computeBoundingSphere();
  const ball = geometry.boundingSphere?.clone().applyMatrix4(surface.matrixWorld);
  if (ball === undefined || Math.abs(kept.distanceToPoint(ball.center)) > ball.radius) return undefined;
  const positions = geometry.getAttribute("position").array;
  const indices = geometry.getIndex()?.array;
  if (indices === undefined) return undefined;
  // in the part's own frame, so that its corners need not be moved
  const own = kept.clone().applyMatrix4(surface.matrixWorld.clone().invert());
  const { x, y, z } = own.normal;
  const heights = new Float32Array(positions.length / 3);
  for (let corner = 0; corner < heights.length; corner += 1) {
    const from = corner * 3;
    heights[corner] = x * (positions[from] ?? 0) + y * (positions[from + 1] ?? 0) + z * (positions[from + 2] ?? 0) + own.constant;
  }
  const lines: number[] = [];
  const cross = (a: number, b: number) => {
    const [high, low] = [heights[a] ?? 0, heights[b] ?? 0];
    const share = high / (high - low);
    for (let axis = 0; axis < 3; axis += 1) {
      const from = positions[a * 3 + axis] ?? 0;
      lines.push(from + ((positions[b * 3 + axis] ?? 0) - from) * share);
    }
  };
  for (let index = 0; index + 2 < indices.length; index += 3) {
    const corners = [indices[index] ?? 0, indices[index + 1] ?? 0, indices[index + 2] ?? 0];
    const kept3 = corners.map((corner) => (heights[corner] ?? 0) >= 0);
    if (kept3[0] === kept3[1] && kept3[1] === kept3[2]) continue;
    for (let side = 0; side < 3; side += 1) {
      const next = (side + 1) % 3;
      if (kept3[side] !== kept3[next]) cross(corners[side] ?? 0, corners[next] ?? 0);
    }
  }
  if (lines.length === 0) return undefined;
  const outline = new BufferGeometry();
  outline.setAttribute("position", new BufferAttribute(new Float32Array(lines), 3));
  outline.applyMatrix4(surface.matrixWorld);
  return outline;
}
