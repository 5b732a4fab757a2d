// Ways to look at the neck: from a side, cut open, and with the distance between two points; all of it in words too.
import { type Bench, type BenchStore, shownList } from "../state/bench.ts";
import { fieldText, type LengthUnit, lengthText, readNumber } from "../state/lengths.ts";
import { apart, type Cut, endsOf, type Hatch, hatchOf, type Looking, type Measuring, NOT_MEASURING, type Picked, type Side, SIDES, stepsText } from "../state/looking.ts";
import { allRows, isTurned } from "../state/pairs.ts";
import { valueAt } from "../state/json.ts";
import type { Clearance, PartInfo } from "../worker/protocol.ts";
import { el, setText, svg } from "../dom.ts";
import { namer } from "./clearances.ts";

/** Steps of the slider along the tube. */
const STATION_STEP_MM = 0.1;

/** What the panel asks of the view. */
export interface Eye {
  from(side: Side): void;
  faceCut(): void;
}

export class LookingPanel {
  readonly button = el("button", { text: "Cut, measure, turn", attributes: { type: "button", "aria-expanded": "false", "aria-controls": "looking" } });
  readonly #title = el("h2", { text: "Cut, measure, turn", attributes: { id: "looking-title", tabindex: -1 } });
  readonly #asSeen = el("input", { attributes: { type: "radio", name: "lines", value: "seen" } });
  readonly #parallel = el("input", { attributes: { type: "radio", name: "lines", value: "parallel", checked: true } });
  readonly #cuts: ReadonlyMap<Cut, HTMLInputElement>;
  readonly #slider = el("input", { attributes: { type: "range", id: "cut-slider", min: 0, step: STATION_STEP_MM, "aria-label": "Station of the cut" } });
  readonly #station = el("input", { attributes: { type: "text", id: "cut-station", inputmode: "decimal", autocomplete: "off", spellcheck: "false" } });
  readonly #stationUnit = el("span", { class: "unit" });
  readonly #stationFault = el("p", { class: "fault", attributes: { id: "cut-fault", role: "alert", hidden: true } });
  readonly #across = el("div", { class: "across" });
  readonly #cutTools = el("div", { class: "actions" });
  readonly #figures = el("dl", { class: "figures" });
  readonly #cutSays = el("p", { class: "says", attributes: { id: "cut-says", role: "status" } });
  readonly #cutParts = el("ul", { class: "cut-parts", attributes: { "aria-label": "Parts that are cut" } });
  readonly #pick = el("button", { text: "Pick two points", attributes: { type: "button", "aria-pressed": "false" } });
  readonly #clear = el("button", { text: "Clear", attributes: { type: "button" } });
  readonly #one = el("select", { attributes: { id: "measure-a" } });
  readonly #other = el("select", { attributes: { id: "measure-b" } });
  readonly #said = el("div", { class: "measured-says", attributes: { id: "measured", role: "status" } });
  #drawn = "";
  #listed: readonly PartInfo[] | undefined;
  #told = "";

  constructor(
    private readonly bench: BenchStore,
    private readonly eye: Eye,
    private readonly room: HTMLElement,
  ) {
    this.button.addEventListener("click", () => this.#open(!bench.get().looking.open));
    const radio = (cut: Cut) => el("input", { attributes: { type: "radio", name: "cut", value: cut }, on: { change: () => this.#cut(cut) } });
    this.#cuts = new Map([["none", radio("none")], ["bend", radio("bend")], ["across", radio("across")]]);
    this.#parallel.addEventListener("change", () => this.#set({ asSeen: false }));
    this.#asSeen.addEventListener("change", () => this.#set({ asSeen: true }));
    this.#slider.addEventListener("input", () => this.#set({ stationMm: this.#slider.valueAsNumber }));
    this.#station.addEventListener("input", () => this.#readStation());
    this.#station.addEventListener("blur", () => this.#showStation(bench.get()));
    this.#station.addEventListener("keydown", (event) => {
      const step = event.key === "ArrowUp" ? 1 : event.key === "ArrowDown" ? -1 : 0;
      if (step === 0) return;
      event.preventDefault();
      this.#set({ stationMm: this.#within(Number((bench.get().looking.stationMm + step * STATION_STEP_MM).toFixed(4))) });
      this.#showStation(bench.get());
    });
    this.#pick.addEventListener("click", () => {
      const { measuring } = bench.get().looking;
      this.#set({ measuring: { ...NOT_MEASURING, picking: !measuring.picking } });
    });
    this.#clear.addEventListener("click", () => {
      this.#set({ measuring: { ...NOT_MEASURING, picking: bench.get().looking.measuring.picking } });
      // the button can do nothing more, and the focus must not be lost with it
      this.#pick.focus();
    });
    this.#cutTools.replaceChildren(
      el("button", { text: "Face the cut", attributes: { type: "button" }, on: { click: () => eye.faceCut() } }),
      el("button", { text: "Take away the other half", attributes: { type: "button" }, on: { click: () => this.#turnCut() } }),
    );
    this.#across.replaceChildren(
      this.#slider,
      el("span", { class: "entry" }, el("label", { text: "Station", attributes: { for: "cut-station" } }), this.#station, this.#stationUnit),
      this.#stationFault,
    );
    room.replaceChildren(
      el("div", { class: "looking-head" }, this.#title, el("button", { text: "Close", attributes: { type: "button" }, on: { click: () => this.#leave() } })),
      this.#group(
        "Seen from",
        el("div", { class: "actions" }, ...SIDES.map(({ side, name, key }) => el("button", { text: name, attributes: { type: "button", "aria-keyshortcuts": key, "data-side": side }, on: { click: () => eye.from(side) } }))),
        this.#choice("Lines", [[this.#parallel, "Parallel, as drawn"], [this.#asSeen, "As the eye sees"]]),
      ),
      this.#group(
        "Cut open",
        this.#choice("Cut open", [[this.#cuts.get("none"), "Not cut"], [this.#cuts.get("bend"), "Along the bend"], [this.#cuts.get("across"), "Across"]]),
        this.#across,
        this.#cutTools,
        this.#figures,
        this.#cutSays,
        this.#cutParts,
      ),
      this.#group(
        "Distance",
        el("p", { class: "says", text: "Click or tap two places on the parts; Enter takes what lies under the cross in the middle of the view. Or choose two parts:" }),
        el("div", { class: "actions" }, this.#pick, this.#clear),
        el(
          "div",
          { class: "two-parts" },
          el("label", { text: "From", attributes: { for: "measure-a" } }),
          this.#one,
          el("label", { text: "to", attributes: { for: "measure-b" } }),
          this.#other,
          el("button", { text: "Their nearest points", attributes: { type: "button" }, on: { click: () => this.#nearest() } }),
        ),
        this.#said,
      ),
    );
  }

  render(state: Bench): void {
    const { looking, parts, unit } = state;
    this.room.hidden = !looking.open;
    this.button.setAttribute("aria-expanded", String(looking.open));
    this.#listParts(parts);
    this.#tell(state);
    const drawn = JSON.stringify([looking, unit, parts.map(({ id }) => id), shownLength(looking)]);
    if (drawn === this.#drawn) return;
    this.#drawn = drawn;
    for (const [cut, input] of this.#cuts) input.checked = looking.cut === cut;
    this.#asSeen.checked = looking.asSeen;
    this.#parallel.checked = !looking.asSeen;
    this.#across.hidden = looking.cut !== "across";
    this.#cutTools.hidden = looking.cut === "none";
    this.#slider.max = String(shownLength(looking));
    if (this.#slider.valueAsNumber !== looking.stationMm) this.#slider.value = String(looking.stationMm);
    this.#slider.setAttribute("aria-valuetext", `${lengthText(looking.stationMm, unit)} ${unit} from the cork end`);
    setText(this.#stationUnit, unit);
    if (document.activeElement !== this.#station) this.#showStation(state);
    this.#showCut(state);
    this.#pick.setAttribute("aria-pressed", String(looking.measuring.picking));
    this.#clear.disabled = looking.measuring.points.length === 0 && looking.measuring.row === undefined;
  }

  /** A place was picked on the view; nothing where there is only air. */
  picked(picked: Picked | undefined): void {
    const { measuring } = this.bench.get().looking;
    if (picked === undefined) {
      this.#set({ measuring: { ...measuring, says: "There is no part at that place." } });
      return;
    }
    // the third is the first of the next two
    const points = measuring.points.length === 1 ? [...measuring.points, picked] : [picked];
    this.#set({ measuring: { picking: true, points, row: undefined, says: undefined } });
  }

  /** Escape: lets the points go, then the picking. Says whether there was anything to let go. */
  letGo(): boolean {
    const { measuring } = this.bench.get().looking;
    const any = measuring.points.length > 0 || measuring.row !== undefined;
    if (!any && !measuring.picking) return false;
    this.#set({ measuring: { ...NOT_MEASURING, picking: any && measuring.picking } });
    return true;
  }

  #set(change: Partial<Looking>): void {
    this.bench.set({ looking: { ...this.bench.get().looking, ...change } });
  }

  /** Puts the panel away; what is cut stays cut. */
  close(): void {
    this.#open(false);
  }

  #open(open: boolean): void {
    this.#set({ open, ...(open ? {} : { measuring: NOT_MEASURING }) });
    if (!open) return;
    this.room.scrollIntoView({ block: "nearest" });
    // the panel comes before its button: whoever cannot see it is led there
    this.#title.focus({ preventScroll: true });
  }

  #leave(): void {
    this.close();
    this.button.focus();
  }

  #cut(cut: Cut): void {
    this.#set({ cut, otherHalf: false });
    if (cut !== "none") this.eye.faceCut();
  }

  #turnCut(): void {
    this.#set({ otherHalf: !this.bench.get().looking.otherHalf });
    this.eye.faceCut();
  }

  #within(mm: number): number {
    return Math.min(Math.max(mm, 0), shownLength(this.bench.get().looking));
  }

  #readStation(): void {
    const { unit, looking } = this.bench.get();
    const mm = readNumber(this.#station.value, unit);
    const fault = mm === undefined ? "This is no length." : mm < 0 || mm > shownLength(looking) ? `The neck runs from 0 to ${lengthText(shownLength(looking), unit)} ${unit}; the cut stays where it is.` : undefined;
    this.#fault(fault);
    if (fault === undefined && mm !== undefined) this.#set({ stationMm: mm });
  }

  #fault(text: string | undefined): void {
    this.#stationFault.hidden = text === undefined;
    setText(this.#stationFault, text ?? "");
    if (text === undefined) this.#station.removeAttribute("aria-invalid");
    else this.#station.setAttribute("aria-invalid", "true");
    this.#station.setAttribute("aria-describedby", "cut-fault");
  }

  #showStation({ looking, unit }: Bench): void {
    this.#station.value = fieldText(looking.stationMm, unit);
    this.#fault(undefined);
  }

  #showCut(state: Bench): void {
    const { looking, parts, unit } = state;
    const cut = looking.cutParts.flatMap((id) => parts.filter((part) => part.id === id));
    this.#figures.hidden = looking.cut !== "across";
    this.#figures.replaceChildren(...(looking.across === undefined ? [] : figuresOf(state, unit)));
    this.#cutSays.hidden = looking.cut === "none";
    setText(this.#cutSays, looking.cut === "none" ? "" : cutText(looking, cut, unit));
    this.#cutParts.hidden = looking.cut === "none";
    this.#cutParts.replaceChildren(
      ...(looking.cut === "none" ? [] : cut).map((part) => {
        const kind = part.keepout ? "kept clear, not made" : (part.metalName ?? "");
        return el("li", {}, hatchSwatch(hatchOf(parts.indexOf(part)), part.keepout ? undefined : part.colour), el("span", { text: part.name }), el("span", { class: "need", text: kind }));
      }),
    );
  }

  #listParts(parts: readonly PartInfo[]): void {
    if (parts === this.#listed) return;
    this.#listed = parts;
    for (const select of [this.#one, this.#other]) {
      const chosen = select.value;
      select.replaceChildren(...parts.map(({ id, name }) => el("option", { text: name, attributes: { value: id, selected: id === chosen } })));
    }
    if (this.#other.value === this.#one.value) this.#other.selectedIndex = Math.min(1, parts.length - 1);
  }

  /** The row of the list for the two chosen parts, with the key where it stands. */
  #nearest(): void {
    const state = this.bench.get();
    const [a, b] = [this.#one.value, this.#other.value];
    const list = shownList(state);
    const rows = list === undefined ? [] : allRows(list).filter((row) => !isTurned(row) && ((row.a === a && row.b === b) || (row.a === b && row.b === a)));
    const row = rows.find(({ pose }) => pose === "static" || pose === "at") ?? rows.find(({ pose }) => pose === "closed");
    const says = row !== undefined ? undefined : a === b ? "Choose two different parts." : "The list has no row of these two.";
    this.#set({ measuring: { picking: state.looking.measuring.picking, points: [], row, says } });
  }

  #tell(state: Bench): void {
    const lines = measureLines(state);
    const told = lines.join("\n");
    if (told === this.#told) return;
    this.#told = told;
    this.#said.replaceChildren(...lines.map((text, place) => el("p", { text, ...(place === 0 && endsOf(state.looking.measuring) !== undefined ? { class: "length" } : {}) })));
  }

  #group(title: string, ...children: HTMLElement[]): HTMLElement {
    return el("div", { class: "looking-group", attributes: { role: "group", "aria-label": title } }, el("h3", { text: title }), ...children);
  }

  #choice(label: string, options: readonly (readonly [HTMLInputElement | undefined, string])[]): HTMLElement {
    return el("div", { class: "switch", attributes: { role: "radiogroup", "aria-label": label } }, ...options.map(([input, text]) => el("label", {}, input, el("span", { text }))));
  }
}

/** Length of the neck, as far as it is known. */
function shownLength({ across, stationMm }: Looking): number {
  return across?.lengthMm ?? Math.max(stationMm, 1);
}

function figuresOf({ looking, good }: Bench, unit: LengthUnit): HTMLElement[] {
  const { across } = looking;
  if (across === undefined) return [];
  const length = (mm: number) => `${lengthText(mm, unit, 1)} ${unit}`;
  const figure = (name: string, value: string) => [el("dt", { text: name }), el("dd", { text: value })];
  const tenon = valueAt(good, ["tenon", "outer_diameter_mm"]);
  return [
    ...figure("Station", `${length(across.stationMm)} of ${length(across.lengthMm)}`),
    ...figure("Bore", length(across.boreDiameterMm)),
    ...(across.outsideDiameterMm === null || across.wallMm === null
      ? figure("Tube", `ends in the socket before this station${typeof tenon === "number" ? `; the tenon is ${length(tenon)} outside` : ""}`)
      : [...figure("Tube outside", length(across.outsideDiameterMm)), ...figure("Tube wall", length(across.wallMm))]),
  ];
}

function cutText({ cut, stationMm, otherHalf }: Looking, parts: readonly PartInfo[], unit: LengthUnit): string {
  const where = cut === "bend" ? "Cut open along the bend" : `Cut open across at station ${lengthText(stationMm, unit)} ${unit}`;
  const away = cut === "bend" ? (otherHalf ? "the player’s left is" : "the player’s right is") : otherHalf ? "what lies towards the cork end is" : "what lies towards the tenon is";
  return `${where}; ${away} taken away. ${parts.length === 0 ? "No part that is shown is cut." : parts.length === 1 ? "One part is cut:" : `${parts.length} parts are cut:`}`;
}

function measureLines(state: Bench): string[] {
  const { looking, parts, unit } = state;
  const { measuring } = looking;
  const nameOf = namer(parts);
  const ends = endsOf(measuring);
  if (measuring.says !== undefined) return [measuring.says];
  if (ends !== undefined) {
    const length = `${lengthText(apart(...ends), unit)} ${unit}`;
    const row = measuring.row;
    if (row !== undefined) return rowLines(row, length, stepsText(...ends, unit), nameOf);
    const [a, b] = measuring.points;
    const names = a === undefined || b === undefined ? "" : a.part === b.part ? `, both on the ${nameOf(a.part)}` : `, from the ${nameOf(a.part)} to the ${nameOf(b.part)}`;
    return [`${length}${names}`, `From point 1 to point 2: ${stepsText(...ends, unit)}.`, liesText(measuring, unit)];
  }
  const [first] = measuring.points;
  if (first !== undefined) return [`Point 1 lies on the ${nameOf(first.part)}. Now pick point 2.`];
  return measuring.picking ? ["Pick point 1."] : [];
}

function rowLines(row: Clearance, length: string, steps: string, nameOf: (id: string) => string): string[] {
  const names = `${nameOf(row.a)} to ${nameOf(row.b)}`;
  if (row.state === "overlapping") return [`${names}: they overlap, see the list.`];
  const what = row.at_least === true ? `${names}: near points are ${length} apart; so far apart the list only says that it is at least its gap` : `${length}, ${names}, at their nearest points`;
  return [what, `From point 1 to point 2: ${steps}.`, "As the list of clearances has it, from the surfaces themselves."];
}

/** How far a picked point may be trusted. */
function liesText({ points }: Measuring, unit: LengthUnit): string {
  const tolerance = Math.max(...points.map(({ toleranceMm }) => toleranceMm));
  const triangles = `lie on the triangles shown, within ${lengthText(tolerance, unit)} ${unit} of the true surfaces`;
  const cut = points.filter(({ onCut }) => onCut).length;
  const where = cut === 0 ? `Both points ${triangles}` : cut === points.length ? "Both points lie in the cut face" : `One point lies in the cut face; the other points ${triangles}`.replace("the other points lie", "the other lies");
  return `${where}. They are where you picked and are not drawn to any edge.`;
}

/** How a cut face looks: its metal and its hatch. */
function hatchSwatch({ deg, kind }: Hatch, colour: string | undefined): SVGElement {
  const lines = (turn: number, offsets: readonly number[]) => offsets.map((y) => svg("path", { class: "hatch", attributes: { d: `M-20 ${y}H40`, transform: `rotate(${-(deg + turn)} 10 8)` } }));
  const ground = svg("rect", { class: "ground", attributes: { width: 20, height: 16 } });
  if (colour === undefined) ground.setAttribute("fill", "none");
  else ground.setAttribute("fill", colour);
  const all = [-12, -7, -2, 3, 8, 13, 18, 23];
  const wide = [-12, -4, 4, 12, 20];
  const drawn = kind === 0 ? lines(0, all) : kind === 1 ? lines(0, [...wide, ...wide.map((y) => y + 2.4)]) : [...lines(0, wide), ...lines(90, wide)];
  return svg("svg", { class: "hatch-swatch", attributes: { viewBox: "0 0 20 16", "aria-hidden": "true" } }, ground, ...drawn);
}

/** Which parts are shown: one alone, or all brought back; what is hidden, in words. */
export class PartsShown {
  readonly #only = el("button", { attributes: { type: "button", "data-key": "only-this" } });
  readonly #all = el("button", { text: "Show all parts", attributes: { type: "button", "data-key": "show-all" } });
  readonly #says = el("span", { class: "says", attributes: { role: "status" } });

  constructor(
    bench: BenchStore,
    /** Opens the other ways to look. */
    more: HTMLElement,
    room: HTMLElement,
  ) {
    this.#only.addEventListener("click", () => {
      const { looking, card } = bench.get();
      bench.set({ looking: { ...looking, alone: looking.alone === card ? undefined : card } });
    });
    this.#all.addEventListener("click", () => {
      const { looking, parts, hidden } = bench.get();
      // what is only cleared is shown by its own box: it would cover the neck
      const made = new Set(parts.flatMap(({ id, keepout }) => (keepout ? [] : [id])));
      bench.set({ hidden: new Set([...hidden].filter((id) => !made.has(id))), looking: { ...looking, alone: undefined } });
    });
    room.replaceChildren(more, this.#only, this.#all, this.#says);
  }

  render({ parts, card, hidden, looking }: Bench): void {
    const chosen = parts.find(({ id }) => id === card);
    const alone = parts.find(({ id }) => id === looking.alone);
    const gone = parts.filter(({ id, keepout }) => !keepout && hidden.has(id) && id !== looking.alone);
    setText(this.#only, chosen === undefined ? "Only this" : `Only this: ${chosen.name}`);
    this.#only.disabled = chosen === undefined;
    this.#only.setAttribute("aria-pressed", String(alone !== undefined && alone === chosen));
    this.#all.disabled = alone === undefined && gone.length === 0;
    const told = [alone === undefined ? "" : `The ${alone.name} alone; what else is shown is faint.`, gone.length === 0 ? "" : `Hidden: ${gone.map(({ name }) => name).join(", ")}.`];
    setText(this.#says, told.filter((words) => words !== "").join(" "));
  }
}
