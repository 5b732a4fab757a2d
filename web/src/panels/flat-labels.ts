// Words on the tube laid flat, on the screen and on paper: each by its foot, none over another, with a line to it where it
// had to go aside.
import { svg } from "../dom.ts";
import { placeLabels } from "../view/labels.ts";
import type { Rect } from "../view/names.ts";

export interface FlatLabel {
  text: string;
  /** Middle of the edge of its foot that it stands over, mm. */
  x: number;
  y: number;
}

/** What words must keep off, mm: a foot, a band with its own words. */
export interface FlatTaken {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

export interface FlatSheet {
  left: number;
  top: number;
  width: number;
  height: number;
  /** Height of the letters, mm. */
  textMm: number;
}

/** Letters are so wide by their height, and a little more where they are strong. */
const WIDE = 0.6;
/** Letters of any size are placed as if they were so high, px. */
const HIGH_PX = 11;
/** A word farther off than this many lines has a line to its foot. */
const ASIDE_LINES = 1.6;

export function flatLabels(labels: readonly FlatLabel[], taken: readonly FlatTaken[], { left, top, width, height, textMm }: FlatSheet, kind: string): SVGElement[] {
  const scale = HIGH_PX / textMm;
  const to = ({ left: l, top: t, right, bottom }: FlatTaken): Rect => ({ left: (l - left) * scale, top: (t - top) * scale, right: (right - left) * scale, bottom: (bottom - top) * scale });
  const placed = placeLabels(
    labels.map(({ text, x, y }) => ({ kind, text, x: (x - left) * scale, y: (y - top) * scale + 7, side: "over", widthPx: text.length * HIGH_PX * WIDE, heightPx: HIGH_PX + 2 })),
    width * scale,
    height * scale,
    taken.map(to),
  );
  return placed.flatMap(({ text, x, y, rect }) => {
    const [middle, base] = [left + (rect.left + rect.right) / 2 / scale, top + (rect.bottom - 3) / scale];
    const foot = { x: left + x / scale, y: top + (y - 7) / scale };
    const isUnder = rect.top > y;
    const from = isUnder ? top + rect.top / scale : top + rect.bottom / scale;
    const aside = Math.hypot(middle - foot.x, from - foot.y) > ASIDE_LINES * textMm;
    // to the end of the word that is nearest
    const half = (rect.right - rect.left) / 2 / scale;
    const near = Math.min(Math.max(foot.x, middle - half), middle + half);
    return [
      ...(aside ? [svg("path", { class: `${kind}-leader`, attributes: { d: `M${near.toFixed(3)} ${from.toFixed(3)}L${foot.x.toFixed(3)} ${foot.y.toFixed(3)}` } })] : []),
      svg("text", { class: kind, text, attributes: { x: middle, y: base, "font-size": textMm, "text-anchor": "middle" } }),
    ];
  });
}
