// Numbers written over the view: each beside its point, none over another and none out of the picture.
import { overlapPx, type Rect } from "./names.ts";

export interface Label {
  /** Class of its text. */
  kind: string;
  text: string;
  /** The point it is about. */
  x: number;
  y: number;
  /** Which side of the point it is tried on first. */
  side: "over" | "right";
  widthPx: number;
  heightPx: number;
}

export interface PlacedLabel extends Label {
  rect: Rect;
}

/** Distance from the point, and the edge of the picture that is left free. */
const OFF_PX = 10;
const EDGE_PX = 4;

/** Places labels in their order: the first ones have the first choice. */
export function placeLabels(labels: readonly Label[], width: number, height: number, taken: readonly Rect[]): PlacedLabel[] {
  const placed: PlacedLabel[] = [];
  for (const label of labels) {
    const there = [...taken, ...placed.map(({ rect }) => rect)];
    let best: { rect: Rect; cost: number } | undefined;
    for (const [nth, rect] of places(label).entries()) {
      const kept = within(rect, width, height);
      // beside its point rather than pushed back into the picture, and far from nothing it would cover
      const pushed = Math.abs(kept.left - rect.left) + Math.abs(kept.top - rect.top);
      const cost = nth + pushed + 20 * there.reduce((sum, other) => sum + overlapPx(kept, other), 0);
      if (best === undefined || cost < best.cost) best = { rect: kept, cost };
    }
    if (best !== undefined) placed.push({ ...label, rect: best.rect });
  }
  return placed;
}

function places({ x, y, side, widthPx: wide, heightPx }: Label): Rect[] {
  const at = (left: number, top: number): Rect => ({ left, top, right: left + wide, bottom: top + heightPx });
  const over = (row: number) => y - OFF_PX - heightPx - row * (heightPx + 2);
  const under = (row: number) => y + OFF_PX + row * (heightPx + 2);
  const lefts = [x - wide / 2, x + OFF_PX, x - OFF_PX - wide];
  const beside = [at(x + OFF_PX + 4, y - OFF_PX - heightPx), at(x - OFF_PX - 4 - wide, y - OFF_PX - heightPx)];
  const around = [0, 1, 2, 3].flatMap((row) => [over(row), under(row)].flatMap((top) => lefts.map((left) => at(left, top))));
  return side === "right" ? [...beside, ...around] : [...around, ...beside];
}

function within(rect: Rect, width: number, height: number): Rect {
  const right = Math.max(EDGE_PX - rect.left, 0) - Math.max(rect.right - (width - EDGE_PX), 0);
  const down = Math.max(EDGE_PX - rect.top, 0) - Math.max(rect.bottom - (height - EDGE_PX), 0);
  return { left: rect.left + right, top: rect.top + down, right: rect.right + right, bottom: rect.bottom + down };
}

/** Weight and size of what is written over the view, as the style sheet has them. */
const FONTS: Readonly<Record<string, string>> = { "ink-held": "600 15px", "ink-gap-text": "600 15px", "ink-stretch-text": "600 13px" };

let pen: CanvasRenderingContext2D | null | undefined;
/** The page's own letters do not change, and asking for them makes the browser lay out the page. */
let family: string | undefined;

/** Width of a text of a kind, CSS pixels. */
export function widthOf(text: string, kind: string): number {
  pen ??= document.createElement("canvas").getContext("2d");
  if (pen === null) return text.length * 9;
  family ??= getComputedStyle(document.documentElement).fontFamily;
  pen.font = `${FONTS[kind] ?? "13px"} ${family}`;
  return pen.measureText(text).width + 4;
}
