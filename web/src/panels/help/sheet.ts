// A small drawing with one measure marked on it. Drawings are data; here they become lines.
import { svg } from "../../dom.ts";

/** What is marked, in the drawing's own units. */
export type Mark =
  /** Length between two points, its line `off` to the side of them. */
  | { kind: "length"; from: Point; to: Point; off: number }
  /** Radius from a centre to a point of the arc. */
  | { kind: "radius"; centre: Point; to: Point }
  /** Angle at a centre, degrees clockwise from the right. */
  | { kind: "angle"; centre: Point; radius: number; from: number; to: number }
  /** Length along a curve, with a line across at each end. */
  | { kind: "along"; path: string; ends: readonly [Point, Point][] }
  /** A part, or a place of it. */
  | { kind: "part"; path: string };

export type Point = readonly [number, number];

export interface Picture {
  /** What is drawn, for whoever does not see it. */
  says: string;
  /** Cut or seen metal of what the drawing is about. */
  metal?: readonly string[];
  /** What stands beside it. */
  beside?: readonly string[];
  lines?: readonly string[];
  axes?: readonly string[];
  /** Words on the drawing: where, what, and which end of them lies there. */
  words?: readonly [Point, string, ("start" | "middle" | "end")?][];
  marks: Readonly<Record<string, Mark>>;
}

export const WIDTH = 240;
export const HEIGHT = 150;
/** Shorter measures have their arrows outside. */
const SHORT = 20;

export const px = (value: number) => String(Number(value.toFixed(1)));
export const pt = ([x, y]: Point) => `${px(x)} ${px(y)}`;
export const line = (...points: Point[]) => `M${points.map(pt).join("L")}`;
export const shape = (...points: Point[]) => `${line(...points)}Z`;
export const box = (x: number, y: number, width: number, height: number) => `M${px(x)} ${px(y)}h${px(width)}v${px(height)}h${px(-width)}Z`;
export const circle = (x: number, y: number, r: number) => `M${px(x - r)} ${px(y)}a${px(r)} ${px(r)} 0 1 0 ${px(2 * r)} 0a${px(r)} ${px(r)} 0 1 0 ${px(-2 * r)} 0Z`;
/** Point on a circle, degrees clockwise from the right. */
export const polar = ([x, y]: Point, r: number, degrees: number): Point => [x + r * Math.cos((degrees * Math.PI) / 180), y + r * Math.sin((degrees * Math.PI) / 180)];
export function arc(centre: Point, r: number, from: number, to: number): string {
  return `M${pt(polar(centre, r, from))}A${px(r)} ${px(r)} 0 ${Math.abs(to - from) > 180 ? 1 : 0} ${to > from ? 1 : 0} ${pt(polar(centre, r, to))}`;
}
/** A piece of a ring. */
export function band(centre: Point, inner: number, outer: number, from: number, to: number): string {
  const back = arc(centre, inner, to, from);
  return `${arc(centre, outer, from, to)}L${back.slice(1)}Z`;
}
export const length = (x1: number, y1: number, x2: number, y2: number, off = 0): Mark => ({ kind: "length", from: [x1, y1], to: [x2, y2], off });
export const radius = (centre: Point, r: number, degrees: number): Mark => ({ kind: "radius", centre, to: polar(centre, r, degrees) });
export const angle = (centre: Point, r: number, from: number, to: number): Mark => ({ kind: "angle", centre, radius: r, from, to });
export const part = (path: string): Mark => ({ kind: "part", path });

let drawn = 0;

/** The picture, its mark strong and all else faint. */
export function draw(picture: Picture, mark: Mark, title: string): SVGElement {
  drawn += 1;
  const arrow = `arrow-${drawn}`;
  const path = (d: string, name: string, ends?: "both" | "last") =>
    svg("path", { class: name, attributes: { d, "marker-end": ends === undefined ? undefined : `url(#${arrow})`, "marker-start": ends === "both" ? `url(#${arrow})` : undefined } });
  return svg(
    "svg",
    { class: "drawing", attributes: { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": `${picture.says}; marked: ${title}` } },
    svg("defs", {}, svg("marker", { attributes: { id: arrow, viewBox: "0 0 8 8", refX: 8, refY: 4, markerWidth: 5.5, markerHeight: 5.5, orient: "auto-start-reverse" } }, svg("path", { class: "drawing-arrow", attributes: { d: "M0 1L8 4L0 7Z" } }))),
    ...(picture.beside ?? []).map((d) => path(d, "drawing-beside")),
    ...(picture.metal ?? []).map((d) => path(d, "drawing-metal")),
    ...(mark.kind === "part" ? [path(mark.path, "drawing-part")] : []),
    ...(picture.lines ?? []).map((d) => path(d, "drawing-line")),
    ...(picture.axes ?? []).map((d) => path(d, "drawing-axis")),
    ...(picture.words ?? []).map(([[x, y], text, anchor]) => svg("text", { class: "drawing-word", text, attributes: { x, y, "text-anchor": anchor ?? "start" } })),
    ...strokes(mark).map(([d, name, ends]) => path(d, name, ends)),
  );
}

type Stroke = [string, "drawing-mark" | "drawing-witness", ("both" | "last")?];

function strokes(mark: Mark): Stroke[] {
  switch (mark.kind) {
    case "length": {
      const [dx, dy] = [mark.to[0] - mark.from[0], mark.to[1] - mark.from[1]];
      const long = Math.hypot(dx, dy);
      const [ux, uy] = [dx / long, dy / long];
      const aside = ([x, y]: Point, by: number): Point => [x - uy * by, y + ux * by];
      const [a, b] = [aside(mark.from, mark.off), aside(mark.to, mark.off)];
      const beyond = mark.off + Math.sign(mark.off) * 4;
      const witness: Stroke[] = mark.off === 0 ? [] : [[line(mark.from, aside(mark.from, beyond)), "drawing-witness"], [line(mark.to, aside(mark.to, beyond)), "drawing-witness"]];
      if (long >= SHORT) return [...witness, [line(a, b), "drawing-mark", "both"]];
      const out = 15;
      return [...witness, [line(a, b), "drawing-mark"], [line([a[0] - ux * out, a[1] - uy * out], a), "drawing-mark", "last"], [line([b[0] + ux * out, b[1] + uy * out], b), "drawing-mark", "last"]];
    }
    case "radius":
      return [[circle(mark.centre[0], mark.centre[1], 1.5), "drawing-mark"], [line(mark.centre, mark.to), "drawing-mark", "last"]];
    case "angle": {
      const ray = (degrees: number): Stroke => [line(mark.centre, polar(mark.centre, mark.radius + 6, degrees)), "drawing-witness"];
      return [ray(mark.from), ray(mark.to), [arc(mark.centre, mark.radius, mark.from, mark.to), "drawing-mark", "both"]];
    }
    case "along":
      return [...mark.ends.map(([a, b]): Stroke => [line(a, b), "drawing-witness"]), [mark.path, "drawing-mark", "both"]];
    case "part":
      return [];
  }
}
