// Ink of a measured distance: its points, the line between them and its length; and a cross where the key Enter picks.
import { svg } from "../dom.ts";
import type { Point } from "./clash-marks.ts";

const CROSS_PX = 11;

export function drawMeasure(layer: Element, { points, text, cross }: { points: readonly Point[]; text: string; cross: Point | undefined }): void {
  const ink: SVGElement[] = [];
  const [a, b] = points;
  if (a !== undefined && b !== undefined) {
    const d = `M${a.x} ${a.y}L${b.x} ${b.y}`;
    ink.push(svg("path", { class: "ink-gap-under", attributes: { d } }), svg("path", { class: "ink-gap measured", attributes: { d } }));
  }
  points.forEach((point, place) => {
    ink.push(svg("circle", { class: "ink-picked", attributes: { cx: point.x, cy: point.y, r: 4.5 } }));
    // first and second are told apart when there is a line between them to step along
    ink.push(svg("text", { class: "ink-gap-text", text: place === 0 ? "1" : "2", attributes: { x: point.x - 16, y: point.y - 8 } }));
  });
  if (a !== undefined && b !== undefined) ink.push(svg("text", { class: "ink-gap-text", text, attributes: { x: (a.x + b.x) / 2 + 12, y: (a.y + b.y) / 2 - 8 } }));
  if (cross !== undefined) {
    const d = `M${cross.x - CROSS_PX} ${cross.y}h${2 * CROSS_PX}M${cross.x} ${cross.y - CROSS_PX}v${2 * CROSS_PX}`;
    ink.push(svg("path", { class: "ink-cross", attributes: { d } }));
  }
  layer.append(...ink);
}
