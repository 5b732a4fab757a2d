// The names of the parts beside them, each with a line to its part, as on a drawing. Names keep clear of the parts and of
// one another; one that finds no room is left out, and the list of parts has it all the same.

export interface NameToPlace {
  id: string;
  text: string;
  /** Where the part is on the screen, in CSS pixels. */
  x: number;
  y: number;
  width: number;
}

export interface PlacedName extends NameToPlace {
  /** Left end of the text's base line. */
  left: number;
  base: number;
  /** Where the line to the part leaves the text. */
  fromX: number;
  fromY: number;
}

export interface Rect {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

const TEXT_PX = 16;
const CELL_PX = 12;
const DISTANCES_PX = [26, 44, 66, 92, 124, 160, 200];
const DIRECTIONS = 24;
/** What a place costs beside the length of its line: lying on a part, its line going over one, and when it is no place at all. */
const ON_A_PART = 600;
const OVER_A_PART = 110;
const NO_ROOM = 330;

/** Which cells of the view are covered by parts. */
export class Covered {
  readonly #columns: number;
  readonly #cells: Uint8Array;

  constructor(
    readonly width: number,
    readonly height: number,
  ) {
    this.#columns = Math.ceil(width / CELL_PX) + 1;
    this.#cells = new Uint8Array(this.#columns * (Math.ceil(height / CELL_PX) + 1));
  }

  mark(x: number, y: number): void {
    if (x < 0 || y < 0 || x >= this.width || y >= this.height) return;
    this.#cells[Math.floor(y / CELL_PX) * this.#columns + Math.floor(x / CELL_PX)] = 1;
  }

  /** Share of a rectangle that is covered. */
  share({ left, top, right, bottom }: Rect): number {
    let covered = 0;
    let all = 0;
    for (let row = Math.floor(top / CELL_PX); row <= Math.floor(bottom / CELL_PX); row += 1) {
      for (let column = Math.floor(left / CELL_PX); column <= Math.floor(right / CELL_PX); column += 1) {
        all += 1;
        covered += this.#cells[row * this.#columns + column] ?? 0;
      }
    }
    return all === 0 ? 0 : covered / all;
  }

  shareOfLine(from: { x: number; y: number }, to: { x: number; y: number }): number {
    const steps = Math.max(1, Math.ceil(Math.hypot(to.x - from.x, to.y - from.y) / CELL_PX));
    let covered = 0;
    for (let step = 1; step <= steps; step += 1) {
      const [x, y] = [from.x + ((to.x - from.x) * step) / steps, from.y + ((to.y - from.y) * step) / steps];
      covered += this.#cells[Math.floor(y / CELL_PX) * this.#columns + Math.floor(x / CELL_PX)] ?? 0;
    }
    return covered / steps;
  }
}

/** How often those left out are given the first choice, before the best of all attempts is taken. */
const ATTEMPTS = 6;

/** Places names; `taken` are rectangles that must stay free. */
export function placeNames(names: readonly NameToPlace[], covered: Covered, taken: readonly Rect[] = []): PlacedName[] {
  const middle = { x: covered.width / 2, y: covered.height / 2 };
  // from the outside in: names at the rim have fewer places to go
  let order = names
    .filter(({ x, y }) => x >= 0 && y >= 0 && x <= covered.width && y <= covered.height)
    .sort((a, b) => Math.hypot(b.x - middle.x, b.y - middle.y) - Math.hypot(a.x - middle.x, a.y - middle.y));
  let best: Attempt = { placed: [], cost: Infinity };
  for (let attempt = 0; attempt < ATTEMPTS; attempt += 1) {
    const tried = placeInOrder(order, covered, taken);
    if (tried.placed.length > best.placed.length || (tried.placed.length === best.placed.length && tried.cost < best.cost)) best = tried;
    const there = new Set(tried.placed.map(({ id }) => id));
    const out = order.filter(({ id }) => !there.has(id));
    if (out.length === 0) break;
    order = [...out, ...order.filter(({ id }) => there.has(id))];
  }
  return best.placed;
}

interface Attempt {
  placed: PlacedName[];
  cost: number;
}

function placeInOrder(order: readonly NameToPlace[], covered: Covered, taken: readonly Rect[]): Attempt {
  const rects: Rect[] = [...taken];
  const lines: [number, number, number, number][] = [];
  const placed: PlacedName[] = [];
  let total = 0;
  for (const name of order) {
    let best: { cost: number; rect: Rect; toX: number; toY: number } | undefined;
    for (const distance of DISTANCES_PX) {
      for (let turn = 0; turn < DIRECTIONS; turn += 1) {
        const angle = (turn * 2 * Math.PI) / DIRECTIONS;
        const toX = name.x + Math.cos(angle) * distance;
        const toY = name.y + Math.sin(angle) * distance;
        const left = Math.cos(angle) > 0.3 ? toX + 3 : Math.cos(angle) < -0.3 ? toX - name.width - 3 : toX - name.width / 2;
        const top = Math.sin(angle) > 0.9 ? toY + 1 : Math.sin(angle) < -0.9 ? toY - TEXT_PX - 1 : toY - TEXT_PX / 2;
        const rect = { left, top, right: left + name.width, bottom: top + TEXT_PX };
        if (rect.left < 4 || rect.top < 4 || rect.right > covered.width - 4 || rect.bottom > covered.height - 4) continue;
        if (rects.some((other) => overlap(rect, other) || enters([name.x, name.y, toX, toY], other))) continue;
        if (lines.some((line) => crosses(line, [name.x, name.y, toX, toY]) || enters(line, rect))) continue;
        const cost = distance + ON_A_PART * covered.share(rect) + OVER_A_PART * covered.shareOfLine(name, { x: toX, y: toY });
        if (best === undefined || cost < best.cost) best = { cost, rect, toX, toY };
      }
    }
    if (best === undefined || best.cost > NO_ROOM) continue;
    total += best.cost;
    rects.push(best.rect);
    lines.push([name.x, name.y, best.toX, best.toY]);
    placed.push({ ...name, left: best.rect.left, base: best.rect.bottom - 4, fromX: best.toX, fromY: best.toY });
  }
  return { placed, cost: total };
}

/** How far two rectangles lie over one another, in the direction in which it is less; 0 where they do not. */
export function overlapPx(a: Rect, b: Rect): number {
  return Math.max(0, Math.min(a.right - b.left, b.right - a.left, a.bottom - b.top, b.bottom - a.top));
}

function overlap(a: Rect, b: Rect): boolean {
  return a.left < b.right + 5 && b.left < a.right + 5 && a.top < b.bottom + 1 && b.top < a.bottom + 1;
}

function crosses([ax, ay, bx, by]: readonly number[], [cx, cy, dx, dy]: readonly number[]): boolean {
  if (ax === undefined || ay === undefined || bx === undefined || by === undefined) return false;
  if (cx === undefined || cy === undefined || dx === undefined || dy === undefined) return false;
  const side = (px: number, py: number, qx: number, qy: number, rx: number, ry: number) => (qx - px) * (ry - py) - (qy - py) * (rx - px);
  return (
    side(ax, ay, bx, by, cx, cy) * side(ax, ay, bx, by, dx, dy) < 0 && side(cx, cy, dx, dy, ax, ay) * side(cx, cy, dx, dy, bx, by) < 0
  );
}

/** Whether a line passes through a rectangle: looked at closely enough that none lower than a line of text is missed. */
function enters([ax, ay, bx, by]: readonly [number, number, number, number], rect: Rect): boolean {
  const steps = Math.ceil(Math.hypot(bx - ax, by - ay) / (TEXT_PX / 2));
  for (let step = 0; step <= steps; step += 1) {
    const x = ax + ((bx - ax) * step) / Math.max(steps, 1);
    const y = ay + ((by - ay) * step) / Math.max(steps, 1);
    if (x > rect.left - 2 && x < rect.right + 2 && y > rect.top - 2 && y < rect.bottom + 2) return true;
  }
  return false;
}
