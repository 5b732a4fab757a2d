// What the page is doing, what went wrong, and the job in a line.
import { type Bench, type BenchStore, holdsRefused, jobOf, putJob } from "../state/bench.ts";
import { cardOf } from "../state/cards.ts";
import { orderNumber } from "../state/job-file.ts";
import { valueAt } from "../state/json.ts";
import { inWords } from "../state/schema.ts";
import type { Violation } from "../worker/protocol.ts";
import { el, setText } from "../dom.ts";
import { faultText } from "./parameters.ts";

interface Rooms {
  notice: HTMLElement;
  aside: HTMLElement;
  faults: HTMLElement;
  jobLine: HTMLElement;
  units: HTMLElement;
}

export class StatusPanel {
  readonly #mm: HTMLInputElement;
  readonly #inch: HTMLInputElement;

  constructor(
    private readonly bench: BenchStore,
    private readonly rooms: Rooms,
    private readonly goToField: (path: string) => void,
    private readonly restart: () => void,
  ) {
    const choice = (unit: "mm" | "in") => el("input", { attributes: { type: "radio", name: "unit", value: unit }, on: { change: () => bench.set({ unit }) } });
    this.#mm = choice("mm");
    this.#inch = choice("in");
    rooms.units.replaceChildren(
      el(
        "div",
        { class: "switch", attributes: { role: "radiogroup", "aria-label": "Lengths in" } },
        el("label", {}, this.#mm, el("span", { text: "mm" })),
        el("label", {}, this.#inch, el("span", { text: "inch" })),
      ),
    );
  }

  render(state: Bench, before: Bench | undefined): void {
    this.#mm.checked = state.unit === "mm";
    this.#inch.checked = state.unit === "in";
    setText(this.rooms.jobLine, jobLine(state));
    document.documentElement.dataset["work"] = state.work;
    if (before === undefined || before.notice !== state.notice || before.work !== state.work) this.#renderNotice(state);
    if (before === undefined || before.aside !== state.aside) this.#renderAside(state);
    if (before === undefined || before.violations !== state.violations || before.warnings !== state.warnings || before.unit !== state.unit) this.#renderFaults(state);
  }

  #renderNotice(state: Bench): void {
    const { notice } = state;
    this.rooms.notice.hidden = notice === undefined;
    this.rooms.notice.classList.toggle("fault", notice?.tone === "fault");
    if (notice === undefined) {
      this.rooms.notice.replaceChildren();
      return;
    }
    this.rooms.notice.replaceChildren(
      el("span", { text: notice.text }),
      el(
        "span",
        { class: "actions" },
        state.work === "stopped" ? el("button", { text: "Start the calculation again", attributes: { type: "button" }, on: { click: () => this.restart() } }) : undefined,
        el("button", { text: "Close", attributes: { type: "button" }, on: { click: () => this.bench.set({ notice: undefined }) } }),
      ),
    );
  }

  /** The job that was replaced before its changes were saved, and the way back to it. */
  #renderAside({ aside }: Bench): void {
    this.rooms.aside.hidden = aside === undefined;
    if (aside === undefined) {
      this.rooms.aside.replaceChildren();
      return;
    }
    const number = orderNumber(aside.draft);
    const name = number === "" ? "" : ` ${number}`;
    this.rooms.aside.replaceChildren(
      el("span", { text: `Your job${name} was put aside: it has changes that are not saved.` }),
      el(
        "span",
        { class: "actions" },
        el("button", { text: "Take it back", attributes: { type: "button" }, on: { click: () => putJob(this.bench, aside, `Job${name} taken back`) } }),
        el("button", { text: "Let it go", attributes: { type: "button" }, on: { click: () => this.bench.set({ aside: undefined }) } }),
      ),
    );
  }

  /** Every violation at once, each leading to its field. */
  #renderFaults(state: Bench): void {
    const { violations, warnings } = state;
    const all = [...violations, ...warnings.filter((warning) => !violations.includes(warning))];
    const errors = violations.filter(({ severity }) => severity === "error").length;
    this.rooms.faults.hidden = all.length === 0;
    this.rooms.faults.classList.toggle("warning", errors === 0);
    this.rooms.faults.replaceChildren(
      el("h3", {
        text:
          errors === 0
            ? `Worth knowing: ${all.length === 1 ? "one thing" : `${all.length} things`}`
            : `${errors === 1 ? "One thing keeps" : `${errors} things keep`} this neck from being built; ${holdsRefused(state) ? "it stays as it was" : "the one shown is the last good one"}`,
      }),
      el("ul", {}, ...all.map((violation) => el("li", {}, this.#link(violation), ` ${faultText(violation, state.unit)}`))),
    );
  }

  #link(violation: Violation): HTMLElement {
    const { path } = violation;
    if (path === "") return el("span", { text: "The file:" });
    return el("button", {
      class: "link",
      text: `${placeText(path)}:`,
      attributes: { type: "button", "data-fault": path },
      on: { click: () => this.goToField(path) },
    });
  }
}

/** `centreline.pieces[2].radius_mm` as `Centreline, pieces 3, radius`. */
function placeText(path: string): string {
  const words = path
    .split(".")
    .map((step) => inWords(step.replace(/\[\d+\]$/, "")).toLowerCase() + (/\[(\d+)\]$/.exec(step)?.[1] !== undefined ? ` ${Number(/\[(\d+)\]$/.exec(step)?.[1]) + 1}` : ""))
    .join(", ");
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** Card that the field of a path is on. */
export function cardOfPath(path: string): string {
  return cardOf(path.split(/[.[]/)[0] ?? path);
}

function jobLine(state: Bench): string {
  const job = jobOf(state);
  const read = (section: string) => {
    const value = valueAt(job, [section]);
    return typeof value === "string" ? value : "";
  };
  const voice = inWords(read("horn_voice").slice(0, 20));
  const starting = read("values_are") === "starting_values" ? "starting values: measure the horn" : "measured";
  return job === undefined ? "" : [orderNumber(job), voice, starting].filter((words) => words !== "").join(" · ");
}
