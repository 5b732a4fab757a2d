// The drawing of a parameter. Loaded when the first one is asked for: nobody needs it to begin.
import { measuredBy } from "./measured.ts";
import { draw } from "./sheet.ts";

export function drawingOf(tablePath: string, title: string): SVGElement | undefined {
  const found = measuredBy(tablePath);
  return found === undefined ? undefined : draw(found.picture, found.mark, title);
}
