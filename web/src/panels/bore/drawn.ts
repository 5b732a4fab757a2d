// Both bores drawn over each other, and their difference under them, where the second is changed by hand: a point is dragged
// up and down, or moved by the arrow keys.
import { type BoreRow, diameterAt } from "../../state/bore.ts";
import { type LengthUnit, lengthText } from "../../state/lengths.ts";
import { el, svg } from "../../dom.ts";
import { across, type Frame, frameOf, legend, lineOf, marksOf, points, put, up, valueUp, WIDTH } from "../plot.ts";

/** Least difference that fills the lower picture, mm of diameter. */
const LEAST_SHOWN_MM = 0.5;
/** What an arrow key moves a point by, mm of diameter; with Shift the finer. */
const STEP_MM = 0.1;
const FINE_MM = 0.01;
const HEIGHT = 440;

export interface Shown {
  first: { name: string; profile: readonly BoreRow[] };
  second: { name: string; rows: readonly BoreRow[] };
}

interface DrawnPoint {
  group: SVGGElement;
  grip: SVGRectElement;
  dot: SVGCircleElement;
}

export class BoresDrawn {
  readonly element: HTMLElement;
  readonly #legend = el("ul", { class: "plot-legend" });
  readonly #words = el("p", {});
  readonly #at = el("p", { class: "bore-at", attributes: { "aria-live": "polite" } });
  readonly #svg = svg("svg", { class: "plot-picture", attributes: { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "group", "aria-label": "Both bores, and the second less the first" } });
  #shown: Shown | undefined;
  #unit: LengthUnit = "mm";
  /** The point the keys move. */
  #point = 0;
  /** What the lower picture reaches up and down to, mm; it stays while a point is held. */
  #reach = LEAST_SHOWN_MM;
  #held: { pointer: number; index: number } | undefined;
  #points: readonly DrawnPoint[] = [];
  readonly #line = svg("path", { class: "plot-line second" });
  readonly #between = svg("path", { class: "plot-line between" });
  /** What the picture was drawn for as a whole. */
  #drawnAs = "";
  #drawnFirst: readonly BoreRow[] | undefined;

  constructor(
    /** A point was moved; the last move of a drag or a key is told by `done`. */
    private readonly move: (index: number, diameterMm: number) => void,
    private readonly done: () => void,
  ) {
    this.element = el(
      "div",
      { class: "blanks-body" },
      this.#legend,
      this.#words,
      el("div", { class: "picture-scroll", attributes: { tabindex: 0, role: "region", "aria-label": "Picture of both bores" } }, this.#svg),
      this.#at,
      el("p", { class: "field-help", text: "Drag a point of the lower picture up or down. By keys: Tab to the points, left and right to go from one to the next, up and down by 0.1 mm, with Shift by 0.01 mm." }),
    );
    this.#svg.addEventListener("pointermove", (event) => this.#drag(event));
    for (const kind of ["pointerup", "pointercancel"] as const) this.#svg.addEventListener(kind, (event) => this.#letGo(event));
  }

  render(shown: Shown, unit: LengthUnit): void {
    this.#shown = shown;
    this.#unit = unit;
    this.#point = Math.min(this.#point, Math.max(0, shown.second.rows.length - 1));
    this.#draw();
  }

  #frames(): { bores: Frame; difference: Frame } {
    const { first, second } = this.#shown ?? { first: { profile: [] }, second: { rows: [] } };
    const all = [...first.profile, ...second.rows];
    const length = Math.max(1, ...all.map(({ station_mm }) => station_mm));
    const wide = all.map(({ diameter_mm }) => diameter_mm);
    return {
      bores: { top: 26, bottom: 186, x: [0, length], y: [Math.floor(Math.min(...wide, 60)) - 1, Math.ceil(Math.max(...wide, 1)) + 1] },
      difference: { top: 244, bottom: 400, x: [0, length], y: [-this.#reach, this.#reach] },
    };
  }

  #differences(): { station_mm: number; by: number }[] {
    const { first, second } = this.#shown ?? { first: { profile: [] }, second: { rows: [] } };
    return second.rows.map(({ station_mm, diameter_mm }) => ({ station_mm, by: diameter_mm - diameterAt(first.profile, station_mm) }));
  }

  #draw(): void {
    const shown = this.#shown;
    if (shown === undefined) return;
    const unit = this.#unit;
    const differences = this.#differences();
    if (this.#held === undefined) this.#reach = Math.max(LEAST_SHOWN_MM, ...differences.map(({ by }) => Math.abs(by) * 1.25));
    const { bores, difference } = this.#frames();
    const stations = marksOf(bores.x, 10);
    const inUnit = (value: number) => (unit === "in" ? (value / 25.4).toFixed(2) : String(value));
    const fine = (value: number) => (unit === "in" ? (value / 25.4).toFixed(3) : String(value));
    this.#words.textContent = this.#inWords();
    const drawnAs = JSON.stringify([unit, bores, difference, shown.first.name, shown.second.name, differences.map(({ station_mm }) => station_mm)]);
    // while a point is held only what moves with it is drawn anew
    if (drawnAs !== this.#drawnAs || shown.first.profile !== this.#drawnFirst) {
      [this.#drawnAs, this.#drawnFirst] = [drawnAs, shown.first.profile];
      const focused = document.activeElement instanceof SVGElement && this.#svg.contains(document.activeElement);
      this.#legend.replaceChildren(...legend(shown.first.name, shown.second.name));
      this.#points = differences.map(({ station_mm }, index) => this.#pointOf(station_mm, index));
      this.#svg.replaceChildren(
        frameOf(bores, `Diameter, ${unit}`, "", stations, marksOf(bores.y, 6), { x: inUnit, y: inUnit }),
        lineOf(bores, shown.first.profile.map(({ station_mm, diameter_mm }) => [station_mm, diameter_mm] as const), "first"),
        this.#line,
        frameOf(difference, `Second less first, ${unit} of diameter`, `station from the cork end, ${unit}`, stations, marksOf(difference.y, 4), { x: inUnit, y: fine }),
        this.#between,
        ...this.#points.map(({ group }) => group),
      );
      if (focused) this.#focus();
    }
    this.#line.setAttribute("d", points(bores, shown.second.rows.map(({ station_mm, diameter_mm }) => [station_mm, diameter_mm] as const)));
    this.#between.setAttribute("d", points(difference, differences.map(({ station_mm, by }) => [station_mm, by] as const)));
    this.#points.forEach(({ group, grip, dot }, index) => {
      const { station_mm, by } = differences[index] ?? { station_mm: 0, by: 0 };
      const diameter = shown.second.rows[index]?.diameter_mm ?? 0;
      const chosen = index === this.#point;
      const [x, y] = [across(difference, station_mm), up(difference, Math.max(-this.#reach, Math.min(this.#reach, by)))];
      put(group, { tabindex: chosen ? 0 : -1, "aria-valuenow": Number(diameter.toFixed(3)), "aria-valuetext": `${lengthText(diameter, unit)} ${unit}, ${this.#byText(by)}` });
      put(grip, { x: (x - 12).toFixed(1), y: (y - 22).toFixed(1) });
      put(dot, { class: chosen ? "bore-dot chosen" : "bore-dot", cx: x.toFixed(1), cy: y.toFixed(1), r: chosen ? 6.5 : 5 });
    });
    this.#tellPoint();
  }

  #pointOf(stationMm: number, index: number): DrawnPoint {
    const grip = svg("rect", { class: "bore-grip", attributes: { width: 24, height: 44 } });
    const dot = svg("circle", {});
    const group = svg(
      "g",
      {
        class: "bore-point",
        attributes: {
          role: "slider",
          "aria-orientation": "vertical",
          "aria-label": `Second bore at station ${lengthText(stationMm, this.#unit)} ${this.#unit}`,
          "aria-valuemin": 6,
          "aria-valuemax": 60,
          "data-point": index,
        },
        on: {
          pointerdown: (event) => this.#take(event, index),
          keydown: (event) => this.#key(event, index),
          focus: () => this.#choose(index),
        },
      },
      grip,
      dot,
    );
    return { group, grip, dot };
  }

  #byText(by: number): string {
    if (Math.abs(by) < 0.005) return "as the first";
    return `${lengthText(Math.abs(by), this.#unit)} ${this.#unit} ${by > 0 ? "wider" : "tighter"} than the first`;
  }

  #inWords(): string {
    const differences = this.#differences();
    const widest = differences.reduce((most, one) => (one.by > most.by ? one : most), { station_mm: 0, by: 0 });
    const tightest = differences.reduce((most, one) => (one.by < most.by ? one : most), { station_mm: 0, by: 0 });
    const said = [widest, tightest].filter(({ by }) => Math.abs(by) >= 0.005).map(({ station_mm, by }) => `${this.#byText(by)} at station ${lengthText(station_mm, this.#unit)}`);
    return said.length === 0 ? "The second bore is as the first, all along." : `At most, the second bore is ${said.join(", and ")}.`;
  }

  #tellPoint(): void {
    const { station_mm, by } = this.#differences()[this.#point] ?? {};
    const diameter = this.#shown?.second.rows[this.#point]?.diameter_mm;
    this.#at.textContent = station_mm === undefined || by === undefined || diameter === undefined ? "" : `Point at station ${lengthText(station_mm, this.#unit)}: ${lengthText(diameter, this.#unit)} ${this.#unit}, ${this.#byText(by)}.`;
  }

  #focus(): void {
    this.#svg.querySelector<SVGElement>(`[data-point="${this.#point}"]`)?.focus({ preventScroll: true });
  }

  #choose(index: number): void {
    if (index === this.#point) return;
    this.#point = index;
    this.#draw();
  }

  #key(event: KeyboardEvent, index: number): void {
    const rows = this.#shown?.second.rows ?? [];
    const row = rows[index];
    const along = event.key === "ArrowRight" ? 1 : event.key === "ArrowLeft" ? -1 : 0;
    const by = event.key === "ArrowUp" ? 1 : event.key === "ArrowDown" ? -1 : 0;
    if ((along === 0 && by === 0) || row === undefined) return;
    event.preventDefault();
    if (along !== 0) {
      this.#point = Math.max(0, Math.min(rows.length - 1, index + along));
      this.#draw();
      this.#focus();
    } else {
      this.move(index, rounded(row.diameter_mm + by * (event.shiftKey ? FINE_MM : STEP_MM)));
      this.done();
    }
  }

  #take(event: PointerEvent, index: number): void {
    if (event.button !== 0) return;
    event.preventDefault();
    this.#svg.setPointerCapture(event.pointerId);
    this.#held = { pointer: event.pointerId, index };
    this.#point = index;
    this.#draw();
    this.#focus();
  }

  #drag(event: PointerEvent): void {
    const held = this.#held;
    const row = this.#shown?.second.rows[held?.index ?? -1];
    if (held?.pointer !== event.pointerId || row === undefined || this.#shown === undefined) return;
    const box = this.#svg.getBoundingClientRect();
    const { difference } = this.#frames();
    const by = valueUp(difference, ((event.clientY - box.top) / box.height) * HEIGHT);
    const within = Math.max(-this.#reach, Math.min(this.#reach, by));
    this.move(held.index, rounded(diameterAt(this.#shown.first.profile, row.station_mm) + within));
  }

  #letGo(event: PointerEvent): void {
    if (this.#held?.pointer !== event.pointerId) return;
    this.#held = undefined;
    this.#draw();
    this.done();
  }
}

/** A hand sets hundredths of a millimetre. */
function rounded(mm: number): number {
  return Number(mm.toFixed(2));
}
