// A part that can be placed, in words: where it stands, how far it may go, why it goes no farther; and how it is picked up and
// moved by keyboard.
import { type Bench, type BenchStore } from "../state/bench.ts";
import { lengthsIn, lengthText, type LengthUnit } from "../state/lengths.ts";
import { lengthOf, type Movable, MOVABLES, movableOf, type Spot, spotOf } from "../state/places.ts";
import { bearingText } from "../state/bearing.ts";
import { entriesOf, verdict } from "../state/pairs.ts";
import type { Placer, Stop } from "../state/placing.ts";
import type { End, Room, RoomSearch } from "../state/room.ts";
import type { Clearance } from "../worker/protocol.ts";
import { el, setAttribute, setHidden, setText } from "../dom.ts";
import { namer, pairText } from "./clearances.ts";

/** Steps of the arrow keys, mm: plain, with Shift, and of the page keys. */
const STEP_MM = 0.1;
const FINE_MM = 0.01;
const WIDE_MM = 1;
/** Ends of the room are found to about this, mm. */
const CLOSE_MM = 0.03;

/** Where a part stands; `inShort` is for words beside the part itself, where its side is seen. */
export function spotText(state: Pick<Bench, "unit" | "good">, part: Movable, spot: Spot, inShort = false): string {
  const { unit, good } = state;
  const length = lengthOf(good, part);
  const station = length > 0 ? `${lengthText(spot.stationMm, unit)} to ${lengthText(spot.stationMm + length, unit)} ${unit}` : `${lengthText(spot.stationMm, unit)} ${unit}`;
  return part.azimuthDeg === undefined ? `${station}, ${azimuthText(spot.azimuthDeg, inShort)}` : station;
}

export function azimuthText(degrees: number, inShort = false): string {
  const round = Number(degrees.toFixed(1));
  if (round === 0) return "on top";
  if (Math.abs(round) === 180) return "underneath";
  return `${Math.abs(round).toFixed(1)}° ${inShort ? "" : "to the player's "}${round > 0 ? "left" : "right"}`;
}

/** The spot of the held part, or of the part of the card: of the neck that is shown, whatever stands in a field. */
export function shownSpot(state: Bench, part: Movable): Spot | undefined {
  if (state.placing?.part === part) return state.placing.at;
  return state.unrolled === undefined ? undefined : spotOf(state.good, part, state.unrolled);
}

/** Ends of a stretch that the part may take up: of a part told by its beginning, from its beginning to its end. */
export function takenUp({ from, to }: Room["stretches"][number], part: Movable, job: Bench["good"]): { fromMm: number; toMm: number } {
  return { fromMm: from.stationMm, toMm: to.stationMm + lengthOf(job, part) };
}

/** `saddle: overlap`: what a part meets, by the name of the other of the two. */
function metText(row: Clearance, part: Movable, state: Bench): string {
  const nameOf = namer(state.parts);
  const [a, b] = [part.parts.includes(row.a), part.parts.includes(row.b)];
  return `${a === b || part.parts.length > 1 ? pairText(row, nameOf) : nameOf(a ? row.b : row.a)}: ${verdict(row)}`;
}

/** An end of a stretch, and what is met there unless the room is too narrow for so many words. */
function endText(end: End, stationMm: number, part: Movable, state: Bench, inShort: boolean): string {
  const station = `${lengthText(stationMm, state.unit)} ${state.unit}`;
  if (end.meets === undefined || inShort) return station;
  if ("violation" in end.meets) return `${station} (${lengthsIn(end.meets.violation.why, state.unit).replace(/\.$/, "")})`;
  return `${station} (${metText(end.meets.row, part, state)})`;
}

/** What of a part fails where it is now, the worst of it. */
function failingOf(state: Bench, part: Movable): Clearance | undefined {
  const { clearances } = state;
  if (clearances === undefined) return undefined;
  return entriesOf(clearances).find(({ lead: { ok, a, b } }) => !ok && part.parts.includes(a) !== part.parts.includes(b))?.lead;
}

/** Whether a part clears its neighbours where it is, held or not, and how far it may go, as a sentence. */
export function roomText(room: Room, state: Bench, stationMm: number, inShort = false): string {
  const fails = failingOf(state, room.part);
  const here = fails === undefined ? "It clears its neighbours" : `It does not clear its neighbours here (${metText(fails, room.part, state)})`;
  if (room.looking) return `${here}${fails === undefined ? " here" : ""}; how far it may go is being looked for …`;
  // of several stretches the one that it is in is told where it is clear
  const inside = room.stretches.filter(({ from, to }) => stationMm >= from.stationMm - CLOSE_MM && stationMm <= to.stationMm + CLOSE_MM);
  const told = (fails === undefined && inside.length > 0 ? inside : room.stretches).map((stretch) => {
    const { fromMm, toMm } = takenUp(stretch, room.part, state.good);
    return `from ${endText(stretch.from, fromMm, room.part, state, inShort)} to ${endText(stretch.to, toMm, room.part, state, inShort)}`;
  });
  if (fails === undefined) return told.length === 0 || inside.length === 0 ? `${here} here.` : `${here} ${told.join("")}.`;
  if (told.length === 0) return `${here}, and nowhere near along the tube.`;
  return `${here}; it would ${told.join(", or ")}.`;
}

export function stopText(stop: Stop, unit: LengthUnit): string {
  if (stop.kind === "range") return `It goes no farther: the field ranges from ${lengthText(stop.fromMm, unit)} to ${lengthText(stop.toMm, unit)} ${unit}.`;
  return `It goes no farther: ${lengthsIn(stop.violation.why, unit)}`;
}

export class PlacingPanel {
  readonly #where = el("strong");
  readonly #says = el("span", { class: "placing-says" });
  readonly #stop = el("span", { class: "placing-stop" });
  readonly #room = el("span", { class: "placing-room" });
  readonly #pick = el("button", { text: "Pick it up", attributes: { type: "button" }, on: { click: () => this.#toggle() } });
  readonly #back = el("button", { text: "Put it back", attributes: { type: "button" }, on: { click: () => this.placer.giveBack() } });
  /** What the focus was on when a part was picked up by keyboard. */
  #holder: Element | undefined;

  constructor(
    private readonly bench: BenchStore,
    private readonly placer: Placer,
    private readonly rooms: RoomSearch,
    private readonly room: HTMLElement,
    canvas: HTMLElement,
  ) {
    room.replaceChildren(el("p", { class: "placing-told", attributes: { tabindex: 0 } }, this.#where, " ", this.#stop, " ", this.#room, " ", this.#says), el("span", { class: "actions" }, this.#pick, this.#back));
    addEventListener("keydown", (event) => this.#key(event), true);
    canvas.addEventListener("keydown", (event) => {
      const part = movableOf(this.bench.get().card);
      if (event.key !== "Enter" || part === undefined || this.bench.get().placing !== undefined) return;
      event.preventDefault();
      this.pickUp(part, canvas);
    });
    addEventListener("focusin", ({ target }) => {
      if (this.bench.get().placing?.by === "keys" && target !== this.#holder && !(target instanceof Node && this.room.contains(target))) this.placer.putDown();
    });
  }

  /** Takes a part by keyboard; the arrow keys move it as long as the focus stays on `holder`. */
  pickUp(part: Movable, holder: Element): void {
    this.#holder = holder;
    if (this.placer.pickUp(part, "keys")) this.rooms.want(part);
  }

  render(state: Bench, before: Bench): void {
    const { placing, card, unrolled, good, clearances, room, unit, parts } = state;
    if (before.unrolled !== undefined && placing === before.placing && card === before.card && unrolled === before.unrolled && good === before.good && clearances === before.clearances && room === before.room && unit === before.unit && parts === before.parts) return;
    const part = placing?.part ?? movableOf(card);
    const spot = part === undefined ? undefined : shownSpot(state, part);
    this.room.classList.toggle("idle", part === undefined || spot === undefined);
    setHidden(this.room, unrolled === undefined);
    this.#back.classList.toggle("away", placing === undefined);
    this.#pick.classList.toggle("away", part === undefined || spot === undefined);
    if (part === undefined || spot === undefined) {
      for (const words of [this.#where, this.#stop, this.#room]) setText(words, "");
      setText(this.#says, `Parts on the tube can be dragged along it: ${MOVABLES.map(({ name }) => name).join(", ")}. Choose one, and how far it may go stands here.`);
      return;
    }
    const name = part.name.charAt(0).toUpperCase() + part.name.slice(1);
    setText(this.#where, `${name}: ${spotText(state, part, spot)}.`);
    setText(this.#stop, placing?.stop === undefined ? "" : stopText(placing.stop, unit));
    setText(this.#room, room?.part !== part ? "" : roomText(room, state, spot.stationMm, matchMedia("(max-width: 959px)").matches));
    const keys = `Arrow keys move it by ${lengthText(STEP_MM, unit, unit === "in" ? 1 : -1)} ${unit}, with Shift by ${lengthText(FINE_MM, unit, unit === "in" ? 1 : 0)} ${unit}; Enter puts it down, Escape gives the old place back.`;
    setText(this.#says, placing === undefined ? `${part.says} Drag it, or pick it up.` : placing.by === "keys" ? keys : `${bearingText(placing.bearing)}Let go to leave it here; Escape gives the old place back.`);
    this.room.classList.toggle("stopped", placing?.stop !== undefined);
    setText(this.#pick, placing === undefined ? "Pick it up" : "Put it down");
    setAttribute(this.#pick, "aria-pressed", String(placing !== undefined));
  }

  #toggle(): void {
    const { placing, card } = this.bench.get();
    const part = movableOf(card);
    if (placing !== undefined) this.placer.putDown();
    else if (part !== undefined) this.pickUp(part, this.#pick);
  }

  #key(event: KeyboardEvent): void {
    const { placing } = this.bench.get();
    if (placing === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = event.shiftKey ? FINE_MM : STEP_MM;
    const round = placing.part.azimuthDeg === undefined ? step : 0;
    const moves: Record<string, () => void> = {
      Escape: () => this.placer.giveBack(),
      ...(placing.by === "keys"
        ? {
            Enter: () => this.placer.putDown(),
            " ": () => this.placer.putDown(),
            ArrowRight: () => this.placer.moveBy(step, 0),
            ArrowLeft: () => this.placer.moveBy(-step, 0),
            ArrowUp: () => this.placer.moveBy(0, round),
            ArrowDown: () => this.placer.moveBy(0, -round),
            PageUp: () => this.placer.moveBy(WIDE_MM, 0),
            PageDown: () => this.placer.moveBy(-WIDE_MM, 0),
          }
        : {}),
    };
    const move = moves[event.key];
    // the buttons of this room are worked as buttons
    if (move === undefined || ((event.key === "Enter" || event.key === " ") && document.activeElement === this.#back)) return;
    event.preventDefault();
    event.stopPropagation();
    move();
  }
}
