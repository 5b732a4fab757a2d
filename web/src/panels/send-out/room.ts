// The room for what leaves the shop: parts and how many of them are chosen, their sheets looked at, all of it packed and the
// archive handed out. It works on the job that counts on the bench.
import { keepChoices, keepMaking, keptChoices, keptMaking } from "../../keeping/send-out.ts";
import type { Bench } from "../../state/bench.ts";
import { jobName } from "../../state/job-file.ts";
import { type Json, sameJson } from "../../state/json.ts";
import type { LengthUnit } from "../../state/lengths.ts";
import { choiceOf, chosenParts, fieldOf, type PartChoice, requestOf, type SendOut, USUAL_CHOICES } from "../../state/send-out.ts";
import { standing } from "../../state/standing.ts";
import { createStore } from "../../state/store.ts";
import { Newest } from "../../worker/client.ts";
import type { PackageResult, Request, ShopPart, ShopTalk, Violation } from "../../worker/shop-talk.ts";
import { SideCore, type SideState, type SideThread, Stopped } from "../../worker/side-core.ts";
import { el, setText } from "../../dom.ts";
import type { SideRoom } from "../doors.ts";
import { faultText } from "../parameters.ts";
import { Entries } from "../entries.ts";
import { MakingPanel } from "./making.ts";
import { OrderPanel } from "./order.ts";
import { PackedPanel } from "./packed.ts";
import { SheetsPanel } from "./sheets.ts";

/** From here on the sheets lie beside the order; below, under the part they are of. */
const WIDE = "(min-width: 960px)";

const words = (error: unknown) => (error instanceof Error ? error.message : String(error));

export class SendOutRoom implements SideRoom {
  readonly #core: SideCore<ShopTalk>;
  readonly #store = createStore<SendOut>({
    job: undefined,
    broken: undefined,
    refused: [],
    schema: undefined,
    parts: [],
    choices: USUAL_CHOICES,
    making: keptMaking(),
    wrong: [],
    looked: undefined,
    sheets: undefined,
    packing: false,
    packed: undefined,
  });
  #unit: LengthUnit = "mm";
  readonly #wide = matchMedia(WIDE);

  readonly #job = el("p", { class: "says", attributes: { id: "send-out-job" } });
  readonly #status = el("p", { class: "core-says", attributes: { role: "status" } });
  readonly #trouble = el("div", { class: "trouble", attributes: { role: "alert", hidden: true } });
  readonly #side = el("div", { class: "send-side" });
  readonly #body = el("div", { class: "send-out" });
  readonly #entries = new Entries(() => this.#unit);
  readonly #order = new OrderPanel(
    this.#store,
    this.#entries,
    (part, change) => this.#changePart(part, change),
    (which) => this.#choose(which),
  );
  readonly #making = new MakingPanel(
    this.#store,
    () => this.#unit,
    (change) => this.#store.set({ choices: { ...this.#store.get().choices, ...change } }),
    (change) => this.#store.set({ making: { ...this.#store.get().making, ...change } }),
  );
  readonly #sheets = new SheetsPanel();
  readonly #packed = new PackedPanel(this.#store, { pack: (force) => void this.#pack(force), stop: () => this.#core.stop(), goTo: (field) => this.#goTo(field) });

  /** What is wrong with the newest request. */
  readonly #checks: Newest<{ job: Json; request: Request }, { violations: Violation[] }>;
  /** The sheets of the part that is looked at, as the newest request asks for them. */
  readonly #drawn: Newest<{ job: Json; part: string; request: Request }, ShopTalk["sheets"]["answer"]>;

  constructor(start: () => SideThread, place: HTMLElement) {
    this.#core = new SideCore(start, (state) => this.#tell(state));
    this.#checks = new Newest(
      (wanted) => this.#core.ask("check", wanted),
      ({ job }, { violations }) => job === this.#store.get().job && this.#store.set({ wrong: violations.filter(({ severity }) => severity === "error") }),
      () => {},
    );
    this.#drawn = new Newest(
      (wanted) =>
        this.#core.ask("sheets", wanted).catch((error: unknown) => {
          if (!(error instanceof Stopped)) this.#store.set({ sheets: { part: wanted.part, why: words(error) } });
          throw error;
        }),
      ({ part }, sheets) => this.#store.get().looked === part && this.#store.set({ sheets: { part, ...sheets } }),
      () => {},
    );
    this.#body.append(this.#order.element, this.#side, this.#making.element, this.#packed.element);
    this.#body.hidden = true;
    place.replaceChildren(this.#job, this.#status, this.#trouble, this.#body);
    this.#store.subscribe((now, before) => this.#react(now, before));
    this.#wide.addEventListener("change", () => this.#layOut());
  }

  render(bench: Bench): void {
    const stands = standing(bench);
    setText(this.#job, stands?.says ?? "There is no job on the bench yet.");
    this.#job.classList.toggle("fault", stands?.differs === true);
    this.#job.classList.toggle("warning", stands?.differs === true);
    const { job } = this.#store.get();
    if (stands !== undefined && (job === undefined || !sameJson(job, stands.job))) this.#take(stands.job);
    if (bench.unit === this.#unit) return;
    this.#unit = bench.unit;
    this.#show(this.#store.get());
  }

  left(): void {}

  /** Another job, or the same one changed: the order stays as long as it is the same order's. */
  #take(job: Json): void {
    const { job: before, choices } = this.#store.get();
    const same = before !== undefined && jobName(before) === jobName(job);
    this.#store.set({ job, choices: same ? choices : keptChoices(jobName(job)), packed: undefined });
    void this.#look(job);
  }

  async #look(job: Json): Promise<void> {
    this.#store.set({ broken: undefined });
    try {
      if (this.#store.get().schema === undefined) {
        const { schema } = await this.#core.ask("schema", {});
        this.#store.set({ schema });
      }
      const answer = await this.#core.ask("parts", { job });
      if (this.#store.get().job !== job) return;
      if (!answer.ok) return this.#store.set({ refused: answer.violations });
      const { looked } = this.#store.get();
      const there = answer.parts.some(({ id }) => id === looked);
      const first = this.#wide.matches ? answer.parts.find(({ flat, drawing }) => flat || drawing)?.id : undefined;
      this.#store.set({ refused: [], parts: answer.parts, looked: there ? looked : first, sheets: there ? this.#store.get().sheets : undefined });
    } catch (error) {
      if (this.#store.get().job === job) this.#store.set({ broken: words(error) });
    }
  }

  #react(now: SendOut, before: SendOut): void {
    const { job } = now;
    const asksElse = now.choices !== before.choices || now.making !== before.making || now.job !== before.job || now.parts !== before.parts;
    if (now.making !== before.making) keepMaking(now.making);
    if (now.choices !== before.choices && now.choices !== USUAL_CHOICES && job !== undefined) keepChoices(jobName(job), now.choices);
    if (job !== undefined && now.parts.length > 0 && now.refused.length === 0) {
      const request = requestOf(now, false);
      if (asksElse) this.#checks.want({ job, request });
      if (now.looked !== undefined && (asksElse || now.looked !== before.looked)) this.#drawn.want({ job, part: now.looked, request });
    }
    this.#show(now);
    // Last: a package of other choices is let go, which is a change of its own.
    if (asksElse && now.packed !== undefined && now.packed === before.packed) this.#store.set({ packed: undefined });
  }

  #show(state: SendOut): void {
    this.#body.hidden = state.parts.length === 0 || state.refused.length > 0;
    this.#showTrouble(state);
    this.#order.render(state, this.#unit);
    this.#making.render(state);
    this.#sheets.render(state, this.#unit);
    this.#packed.render(state, this.#unit);
    const chosen = chosenParts(state);
    const faults = new Map<string, string>();
    for (const violation of state.wrong) {
      const field = fieldOf(violation, chosen);
      const text = faultText(violation, this.#unit);
      faults.set(field, faults.has(field) ? `${faults.get(field)} ${text}` : text);
    }
    for (const entries of [this.#entries, this.#making.entries]) entries.sync(faults);
    // rows open where something in them is wrong
    this.#order.render(state, this.#unit);
    this.#layOut();
  }

  #showTrouble({ broken, refused, job }: SendOut): void {
    this.#trouble.hidden = broken === undefined && refused.length === 0;
    if (this.#trouble.hidden) return this.#trouble.replaceChildren();
    if (broken !== undefined) {
      const again = el("button", { text: "Try again", attributes: { type: "button" }, on: { click: () => job !== undefined && void this.#look(job) } });
      this.#trouble.replaceChildren(el("p", { class: "fault", text: `What can be sent out could not be looked up (${broken}).` }), again);
      return;
    }
    this.#trouble.replaceChildren(
      el("p", { class: "fault", text: `This job cannot be built, so nothing of it can be sent: ${refused.length === 1 ? "one thing is" : `${refused.length} things are`} wrong. Mend it on the bench.` }),
      el("ul", { class: "failing" }, ...refused.map((violation) => el("li", { text: `${violation.path}: ${faultText(violation, this.#unit)}` }))),
      el("a", { text: "To the bench", attributes: { href: "#bench" } }),
    );
  }

  /** The sheets lie beside the order, or on a narrow page under the part they are of. */
  #layOut(): void {
    const { looked } = this.#store.get();
    const row = looked === undefined ? undefined : this.#order.rowOf(looked);
    const hold = this.#wide.matches || row === undefined ? this.#side : row;
    if (this.#sheets.element.parentElement !== hold) hold.append(this.#sheets.element);
  }

  #changePart(part: ShopPart, change: Partial<PartChoice>): void {
    const { choices } = this.#store.get();
    const before = choiceOf(this.#store.get(), part);
    this.#store.set({ choices: { ...choices, parts: { ...choices.parts, [part.id]: { ...before, ...change } } } });
  }

  #choose(which: (part: ShopPart) => boolean): void {
    const state = this.#store.get();
    const parts = Object.fromEntries(state.parts.map((part) => [part.id, { ...choiceOf(state, part), chosen: which(part) }]));
    this.#store.set({ choices: { ...state.choices, parts: { ...state.choices.parts, ...parts } } });
  }

  async #pack(force: boolean): Promise<void> {
    const { job } = this.#store.get();
    if (job === undefined) return;
    const request = requestOf(this.#store.get(), force);
    const asked = this.#store.get();
    const isOld = () => (["job", "choices", "making"] as const).some((field) => this.#store.get()[field] !== asked[field]);
    this.#store.set({ packing: true, packed: undefined });
    try {
      const result = await this.#core.ask("package", { job, request });
      this.#store.set({ packing: false, packed: isOld() ? undefined : packedOf(result, force) });
    } catch (error) {
      this.#store.set({ packing: false, packed: error instanceof Stopped ? { kind: "stopped" } : { kind: "broken", why: words(error) } });
      // what else was asked of the core that ended
      const { looked } = this.#store.get();
      if (looked !== undefined) this.#drawn.want({ job, part: looked, request: requestOf(this.#store.get(), false) });
    }
    const { packed } = this.#store.get();
    if (packed?.kind === "wrong") this.#store.set({ wrong: packed.violations });
  }

  #goTo(field: string): void {
    this.#making.show(field);
    if (!this.#entries.focus(field)) this.#making.entries.focus(field);
  }

  #tell(state: SideState): void {
    setText(this.#status, state === "loading" ? "Loading what makes the files …" : "");
    this.#body.toggleAttribute("data-working", state === "working");
  }
}

function packedOf(result: PackageResult, forced: boolean): NonNullable<SendOut["packed"]> {
  if (result.ok) return { kind: "packed", fileName: result.fileName, list: result.list, zip: result.zip as Uint8Array<ArrayBuffer>, forced };
  return { kind: result.violations.every(({ path }) => path === "force") ? "failing" : "wrong", violations: result.violations };
}
