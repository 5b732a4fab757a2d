// How a metal looks on the bench: one small picture of a polished ball for each colour, looked up by the direction a
// surface faces. No lamps to compute, so it is quick on any machine, and the same metal looks the same from every side.
import { DataTexture, LinearFilter, RGBAFormat, SRGBColorSpace, type Texture } from "three";

const SIZE = 128;

/** `daylight`: a window to the upper left and the bench's warm light from below. `lamp`: one lamp above in a dark room. */
export type Light = "daylight" | "lamp";

const toLinear = (value: number) => (value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4);
const toSrgb = (value: number) => (value <= 0.0031308 ? value * 12.92 : 1.055 * value ** (1 / 2.4) - 0.055);
const smooth = (low: number, high: number, value: number) => {
  const t = Math.min(Math.max((value - low) / (high - low), 0), 1);
  return t * t * (3 - 2 * t);
};

function linearRgb(colour: string): [number, number, number] {
  const value = Number.parseInt(colour.slice(1), 16);
  return [toLinear((value >> 16) / 255), toLinear(((value >> 8) & 255) / 255), toLinear((value & 255) / 255)];
}

/** Light a polished surface throws to the eye, as (colour of the metal, white), for the unit normal (x, y, z). */
function polished(x: number, y: number, z: number, light: Light): [number, number] {
  // direction the eye's ray is thrown to
  const [rx, ry, rz] = [2 * x * z, 2 * y * z, 2 * z * z - 1];
  const lobe = (lx: number, ly: number, lz: number, sharp: number) => Math.max(0, rx * lx + ry * ly + rz * lz) ** sharp;
  const sky = light === "daylight" ? 0.34 + 0.5 * smooth(-0.9, 0.9, ry) : 0.16 + 0.4 * smooth(-0.6, 0.9, ry);
  const horizon = 0.2 * Math.exp(-(((ry + 0.36) / 0.17) ** 2));
  const window = 0.55 * lobe(-0.46, 0.72, 0.52, 6) + 0.2 * lobe(0.75, 0.2, 0.63, 10);
  const bench = light === "daylight" ? 0.16 * lobe(0.1, -0.85, 0.52, 4) : 0.05 * lobe(0.1, -0.85, 0.52, 4);
  const glint = 0.55 * lobe(-0.46, 0.72, 0.52, 60);
  const edge = (1 - z) ** 3 * (light === "daylight" ? 0.1 : 0.16);
  return [Math.max(0.04, sky - horizon + window + bench), glint + edge];
}

/** Cork and felt: light falls in and comes out soft. */
function matte(x: number, y: number, z: number, light: Light): [number, number] {
  const facing = Math.max(0, -0.42 * x + 0.66 * y + 0.62 * z);
  return [(light === "daylight" ? 0.42 : 0.2) + 0.62 * facing, 0];
}

/** What `polished` or `matte` says of every pixel, two numbers each: the same for all colours, so it is worked out once. */
const shadings = new Map<string, Float32Array>();

function shading(isMetal: boolean, light: Light): Float32Array {
  const key = `${isMetal} ${light}`;
  const known = shadings.get(key);
  if (known !== undefined) return known;
  const made = new Float32Array(SIZE * SIZE * 2);
  for (let row = 0; row < SIZE; row += 1) {
    for (let column = 0; column < SIZE; column += 1) {
      let x = ((column + 0.5) / SIZE) * 2 - 1;
      let y = ((row + 0.5) / SIZE) * 2 - 1;
      const radius = Math.hypot(x, y);
      // the corners are never looked up, but their neighbours are blended with them
      if (radius > 0.999) [x, y] = [(x / radius) * 0.999, (y / radius) * 0.999];
      made.set((isMetal ? polished : matte)(x, y, Math.sqrt(1 - x * x - y * y), light), (row * SIZE + column) * 2);
    }
  }
  shadings.set(key, made);
  return made;
}

/** sRGB bytes of linear values, in steps finer than a byte's own. */
const SRGB_STEPS = 4096;
const SRGB = Uint8Array.from({ length: SRGB_STEPS + 1 }, (_, step) => Math.round(255 * toSrgb(step / SRGB_STEPS)));

/** Picture of a ball of this colour. */
export function ball(colour: string, isMetal: boolean, light: Light): Texture {
  const rgb = linearRgb(colour);
  const shades = shading(isMetal, light);
  const pixels = new Uint8Array(SIZE * SIZE * 4);
  for (let pixel = 0; pixel < SIZE * SIZE; pixel += 1) {
    const [own, white] = [shades[pixel * 2] ?? 0, shades[pixel * 2 + 1] ?? 0];
    for (let channel = 0; channel < 3; channel += 1) {
      pixels[pixel * 4 + channel] = SRGB[Math.round(SRGB_STEPS * Math.min(1, (rgb[channel] ?? 0) * own * 1.15 + white))] ?? 255;
    }
    pixels[pixel * 4 + 3] = 255;
  }
  const texture = new DataTexture(pixels, SIZE, SIZE, RGBAFormat);
  texture.colorSpace = SRGBColorSpace;
  texture.magFilter = LinearFilter;
  texture.minFilter = LinearFilter;
  texture.needsUpdate = true;
  return texture;
}
