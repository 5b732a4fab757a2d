// The tube laid flat, under the neck: what stands where on it, to scale. Parts are dragged on it or picked up by keyboard, as
// on the neck itself.
import { type Bench, type BenchStore, shownList } from "../state/bench.ts";
import { type Bearing, bearingOf } from "../state/bearing.ts";
import { entriesOf } from "../state/pairs.ts";
import { type Movable, MOVABLES, movableOf, outsideAt, type Spot, spotOf } from "../state/places.ts";
import type { Placer } from "../state/placing.ts";
import type { RoomSearch } from "../state/room.ts";
import type { Footprint, Unrolled } from "../worker/protocol.ts";
import { CLICK_PX, el, setHidden, setText, svg } from "../dom.ts";
import { type FlatLabel, flatLabels, type FlatTaken } from "./flat-labels.ts";
import { bandTaken, bandText, boxOf, edgePath, flatPath, flatPaths, labelPlace, lines, onSheet, sheetHalf, stationLines } from "./flat-sheet.ts";
import type { PlacingPanel } from "./placing.ts";
import { shownSpot, spotText, takenUp } from "./placing.ts";
import { PAPERS, type Paper, printTemplate } from "./template.ts";

/** Room round the sheet, mm. */
const MARGIN_MM = 5;
const TEXT_PX = 11;

/** How a movable part lies on the sheet; kept while it is moved, so that it keeps the focus and the finger. */
interface Lying {
  part: Movable;
  group: SVGGElement;
  margins: SVGPathElement;
  outlines: SVGPathElement;
}

export class UnrolledPanel {
  readonly #sheet = svg("svg", { class: "flat-sheet", attributes: { role: "group", "aria-label": "The tube laid flat" } });
  readonly #ground = svg("g");
  readonly #stretches = svg("g", { attributes: { "aria-hidden": "true" } });
  /** Over everything, and not cut off at the edge of the sheet. */
  readonly #names = svg("g", { attributes: { "aria-hidden": "true" } });
  readonly #edge = svg("path");
  readonly #lying: Lying[];
  readonly #words = el("ul", { class: "flat-words", attributes: { "aria-label": "Where the parts stand" } });
  readonly #paper: HTMLSelectElement;
  #pxPerMm = 4;
  #groundDrawn = "";

  constructor(
    private readonly bench: BenchStore,
    private readonly placer: Placer,
    private readonly rooms: RoomSearch,
    private readonly placing: PlacingPanel,
    private readonly room: HTMLElement,
    private readonly template: HTMLElement,
  ) {
    this.#lying = MOVABLES.map((part) => this.#layPart(part));
    const clip = svg("clipPath", { attributes: { id: "flat-edge" } }, this.#edge);
    const parts = svg("g", { attributes: { "clip-path": "url(#flat-edge)" } }, ...this.#lying.map(({ group }) => group));
    this.#sheet.append(svg("defs", {}, clip), this.#ground, parts, this.#stretches, this.#names);
    this.#paper = el("select", { attributes: { "aria-label": "Paper" } }, ...Object.entries(PAPERS).map(([id, { name }]) => el("option", { text: name, attributes: { value: id } })));
    room.replaceChildren(
      el(
        "div",
        { class: "list-head" },
        el("h2", { text: "The tube laid flat", attributes: { id: "flat-title" } }),
        el("span", { class: "actions" }, this.#paper, el("button", { text: "Print the wrap-round template", attributes: { type: "button" }, on: { click: () => this.#print() } })),
      ),
      this.#sheet,
      el("p", { class: "says", text: "Stations run along the centreline from the cork end; the middle line is the top of the tube, the long edges meet underneath, and the seams lie on both. The thin line round a foot is its margin for solder." }),
      this.#words,
    );
    new ResizeObserver(() => this.#draw(this.bench.get())).observe(this.#sheet);
    addEventListener("beforeprint", () => this.#layTemplate());
  }

  render(state: Bench, before: Bench): void {
    setHidden(this.room, !state.flat);
    document.documentElement.classList.toggle("flat", state.flat);
    if (!state.flat) return;
    if (before.flat && state.unrolled === before.unrolled && state.placing === before.placing && state.room === before.room && state.card === before.card && state.unit === before.unit && state.good === before.good && shownList(state) === shownList(before)) return;
    this.#draw(state);
  }

  #draw(state: Bench): void {
    const { unrolled, unit } = state;
    if (unrolled === undefined || !state.flat) return;
    const [length, half] = [unrolled.along.at(-1)?.station_mm ?? 1, sheetHalf(unrolled)];
    const width = this.#sheet.clientWidth || 600;
    this.#pxPerMm = width / (length + 2 * MARGIN_MM);
    const textMm = TEXT_PX / this.#pxPerMm;
    const top = half + textMm * 1.6;
    this.#sheet.setAttribute("viewBox", `${-MARGIN_MM} ${-top} ${length + 2 * MARGIN_MM} ${top + half + 2}`);
    this.#drawGround(unrolled, unit, textMm);
    const failing = new Set(entriesOf(shownList(state) ?? { format: "", pairs: [], failed: 0 }).flatMap(({ lead }) => (lead.ok ? [] : [lead.a, lead.b])));
    const lie = this.#lying.flatMap((lying) => this.#drawPart(lying, state, unrolled, failing) ?? []);
    // what is held has the first choice
    const held = MOVABLES.findIndex((part) => state.placing?.part === part);
    const labels = lie.map(({ label }) => label);
    const sheet = { left: -MARGIN_MM, top: -top + textMm * 1.4, width: length + 2 * MARGIN_MM, height: top + half + 2 - textMm * 1.4, textMm };
    this.#names.replaceChildren(...flatLabels(held > 0 ? [...labels.slice(held, held + 1), ...labels.slice(0, held), ...labels.slice(held + 1)] : labels, [...lie.flatMap(({ taken }) => taken), ...bandTaken(unrolled)], sheet, "flat-name"));
    this.#drawStretches(state, unrolled);
    this.#drawWords(state, unrolled, failing);
  }

  /** What no placing changes is drawn once. */
  #drawGround(unrolled: Unrolled, unit: Bench["unit"], textMm: number): void {
    const edge = edgePath(unrolled);
    const drawn = JSON.stringify([edge, unrolled.bands, unit, textMm]);
    if (drawn === this.#groundDrawn) return;
    this.#groundDrawn = drawn;
    this.#edge.setAttribute("d", edge);
    const bands = unrolled.bands.map((band) => {
      const { name, from_station_mm: from, to_station_mm: to, diameter_mm } = band;
      const half = Math.min((Math.PI * diameter_mm) / 2, sheetHalf(unrolled) + 1);
      const onTube = band.part === "cork" || band.part === "end_ring";
      const at = onTube ? flatPath(unrolled, [[from, -180], [to, -180], [to, 180], [from, 180]]) : `M${from} ${-half}H${to}V${half}H${from}Z`;
      return svg(
        "g",
        { class: `flat-band flat-${band.part}` },
        svg("path", { attributes: { d: at } }),
        svg("text", { class: "flat-number", text: name, attributes: { x: 0, y: 0, "font-size": textMm, "text-anchor": "middle", transform: `translate(${(from + Math.min(to, (unrolled.along.at(-1)?.station_mm ?? to))) / 2 + textMm * 0.35} ${half * (band.part === "receiver" ? 0.5 : band.part === "tenon" ? -0.35 : 0)}) rotate(-90)` } }),
        svg("title", { text: bandText(name, from, to, unit) }),
      );
    });
    this.#ground.replaceChildren(svg("path", { class: "flat-tube", attributes: { d: edge } }), ...bands, ...stationLines(unrolled, unit, textMm), ...lines(unrolled));
  }

  #layPart(part: Movable): Lying {
    const margins = svg("path", { class: "flat-margin" });
    const outlines = svg("path", { class: "flat-foot" });
    const group = svg("g", { class: "flat-part", attributes: { role: "button", tabindex: 0, "data-part": part.id } }, margins, outlines);
    let press: { id: number; x: number; y: number; mmPerPx: number; from: Spot | undefined; bearing: Bearing | undefined; taken: boolean } | undefined;
    // a finger on a part moves the part and not the page; browsers heed touch-action on the picture as a whole only
    group.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
    group.addEventListener("pointerdown", (event) => {
      if (press !== undefined || event.button !== 0) return;
      group.setPointerCapture(event.pointerId);
      // by the way of the hand alone: where the sheet lies on the screen may change with what is told above it
      press = { id: event.pointerId, x: event.clientX, y: event.clientY, mmPerPx: 1 / (this.#sheet.getScreenCTM()?.a ?? this.#pxPerMm), from: undefined, bearing: undefined, taken: false };
    });
    group.addEventListener("pointermove", (event) => {
      if (press?.id !== event.pointerId) return;
      const [right, up] = [event.clientX - press.x, press.y - event.clientY];
      if (!press.taken) {
        if (Math.hypot(right, up) < CLICK_PX) return;
        press.taken = true;
        if (this.placer.pickUp(part, "hand")) press.from = this.bench.get().placing?.from;
        this.rooms.want(part);
      }
      const { placing, unrolled } = this.bench.get();
      if (press.from === undefined || placing === undefined || unrolled === undefined) return;
      if (part.azimuthDeg === undefined) press.bearing ??= bearingOf(right * press.mmPerPx, up * press.mmPerPx, press.mmPerPx);
      const { bearing, from } = press;
      const stationMm = bearing === "round" ? from.stationMm : rounded(from.stationMm + right * press.mmPerPx, 0.1);
      const round = ((up * press.mmPerPx) / outsideAt(unrolled, stationMm)) * (180 / Math.PI);
      this.placer.moveTo({ stationMm, azimuthDeg: bearing === "along" ? from.azimuthDeg : rounded(from.azimuthDeg + round, 0.1) }, bearing);
    });
    const lift = (event: PointerEvent) => {
      if (press?.id !== event.pointerId) return;
      const { taken, from } = press;
      press = undefined;
      if (!taken) this.bench.set({ card: part.id });
      else if (from !== undefined && event.type === "pointerup") this.placer.putDown();
      else if (from !== undefined) this.placer.giveBack();
    };
    group.addEventListener("pointerup", lift);
    group.addEventListener("pointercancel", lift);
    group.addEventListener("keydown", (event) => {
      if ((event.key !== "Enter" && event.key !== " ") || this.bench.get().placing !== undefined) return;
      event.preventDefault();
      this.placing.pickUp(part, group);
    });
    return { part, group, margins, outlines };
  }

  /** Returns the words of the part, and what they and others must keep off. */
  #drawPart({ part, group, margins, outlines }: Lying, state: Bench, unrolled: Unrolled, failing: ReadonlySet<string>): { label: FlatLabel; taken: FlatTaken[] } | undefined {
    const feet = unrolled.footprints.filter((foot) => part.parts.includes(foot.part));
    group.toggleAttribute("hidden", feet.length === 0);
    if (feet.length === 0) return undefined;
    const paths = (outline: (foot: Footprint) => [number, number][]) => feet.flatMap((foot) => flatPaths(unrolled, outline(foot))).join("");
    margins.setAttribute("d", paths((foot) => foot.margin_mm_deg));
    outlines.setAttribute("d", paths((foot) => foot.outline_mm_deg));
    const fails = part.parts.some((id) => failing.has(id));
    const spot = shownSpot(state, part);
    const where = spot === undefined ? "" : spotText(state, part, spot);
    group.classList.toggle("fails", fails);
    group.classList.toggle("chosen", movableOf(state.card) === part);
    group.classList.toggle("held", state.placing?.part === part);
    group.classList.toggle("goes-round", part.azimuthDeg === undefined);
    group.setAttribute("aria-pressed", String(state.placing?.part === part));
    group.setAttribute("aria-label", `${part.name}: ${where}${fails ? ", something about it fails" : ""}`);
    // a part that is held tells its numbers beside it
    const text = `${fails ? "▼ " : ""}${state.placing?.part === part && spot !== undefined ? spotText(state, part, spot, true) : (feet[0]?.name ?? "")}`;
    return { label: { text, ...labelPlace(unrolled, part, feet) }, taken: feet.map((foot) => boxOf(unrolled, foot)) };
  }

  /** Where the part that is held, or chosen, may go. */
  #drawStretches(state: Bench, unrolled: Unrolled): void {
    const { room, placing, card } = state;
    const part = placing?.part ?? movableOf(card);
    if (room === undefined || room.part !== part) return this.#stretches.replaceChildren();
    const azimuth = part.azimuthDeg === 180 ? -180 : room.azimuthDeg;
    const inset = part.azimuthDeg === 180 ? -1.2 : 0;
    this.#stretches.replaceChildren(
      ...room.stretches.flatMap((stretch) => {
        const { fromMm, toMm } = takenUp(stretch, room.part, state.good);
        const [a, b] = [onSheet(unrolled, fromMm, azimuth), onSheet(unrolled, toMm, azimuth)];
        return [
          svg("path", { class: "flat-stretch", attributes: { d: `M${a.x} ${a.y + inset}L${b.x} ${b.y + inset}` } }),
          ...[a, b].map(({ x, y }) => svg("path", { class: "flat-stretch-end", attributes: { d: `M${x} ${y + inset - 2}V${y + inset + 2}` } })),
        ];
      }),
    );
  }

  #drawWords(state: Bench, unrolled: Unrolled, failing: ReadonlySet<string>): void {
    const there = MOVABLES.flatMap((part) => {
      const spot = shownSpot(state, part) ?? spotOf(state.good, part, unrolled);
      return spot === undefined ? [] : [{ part, text: `${part.parts.some((id) => failing.has(id)) ? "▼ " : ""}${part.name}: ${spotText(state, part, spot)}` }];
    });
    const items = [...this.#words.children];
    for (const [index, { part, text }] of there.entries()) {
      const item = items[index] ?? this.#words.appendChild(el("li", {}, el("button", { attributes: { type: "button" }, on: { click: ({ currentTarget }) => this.#choose(currentTarget) } })));
      const button = item.firstElementChild;
      if (!(button instanceof HTMLElement)) continue;
      button.dataset["place"] = part.id;
      button.setAttribute("aria-pressed", String(movableOf(state.card) === part));
      setText(button, text);
    }
    for (const item of items.slice(there.length)) item.remove();
  }

  #choose(target: EventTarget | null): void {
    if (target instanceof HTMLElement) this.bench.set({ card: target.dataset["place"] ?? "" });
  }

  #layTemplate(): void {
    const { unrolled, good, unit, flat } = this.bench.get();
    const paper = this.#paper.value as Paper;
    this.template.replaceChildren(...(unrolled === undefined || !flat ? [] : printTemplate(unrolled, good, unit, paper)));
  }

  #print(): void {
    this.#layTemplate();
    print();
  }
}

function rounded(value: number, step: number): number {
  return Number((Math.round(value / step) * step).toFixed(4));
}
