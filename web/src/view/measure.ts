// Ink of a measured distance: its points, the line between them and its length; and a cross where the key Enter picks.
import { path, type Point, ring, type Stroke, words } from "./ink.ts";

const CROSS_PX = 11;

export function measureInk({ points, text, cross }: { points: readonly Point[]; text: string; cross: Point | undefined }): Stroke[] {
  const ink: Stroke[] = [];
  const [a, b] = points;
  if (a !== undefined && b !== undefined) {
    const d = `M${a.x} ${a.y}L${b.x} ${b.y}`;
    ink.push(path("ink-gap-under", d), path("ink-gap measured", d));
  }
  points.forEach((point, place) => {
    ink.push(ring("ink-picked", point, 4.5));
    // first and second are told apart when there is a line between them to step along
    ink.push(words("ink-gap-text", place === 0 ? "1" : "2", { x: point.x - 16, y: point.y - 8 }));
  });
  if (a !== undefined && b !== undefined) ink.push(words("ink-gap-text", text, { x: (a.x + b.x) / 2 + 12, y: (a.y + b.y) / 2 - 8 }));
  if (cross !== undefined) ink.push(path("ink-cross", `M${cross.x - CROSS_PX} ${cross.y}h${2 * CROSS_PX}M${cross.x} ${cross.y - CROSS_PX}v${2 * CROSS_PX}`));
  return ink;
}
