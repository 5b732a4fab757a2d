// Jobs kept under a name: kept, laid on the bench, removed and brought back, and two of them side by side.
import { type Bench, type BenchStore, commit, jobOf, settle } from "../state/bench.ts";
import type { Comparer } from "../state/comparing.ts";
import { fileStem, forFileName, jobName } from "../state/job-file.ts";
import type { Json } from "../state/json.ts";
import { verdict } from "../state/pairs.ts";
import { type Comparison, masses, parameterDifferences, rowDifferences, type RowPair, type Side, type Variant } from "../state/variants.ts";
import { parameterText, valueText } from "../state/words.ts";
import { LONGEST_NAME, type Variants } from "../keeping/variants.ts";
import type { Clearance } from "../worker/protocol.ts";
import { el, setText } from "../dom.ts";
import { gapText, mark, namer, pairText, poseText } from "./clearances.ts";
import { save } from "./exports.ts";
import { faultText } from "./parameters.ts";

/** The job on the bench, among the names of the variants. */
const PRESENT = "";
/** Rows of the list that are told at first. */
const FIRST_ROWS = 30;

export class VariantsPanel {
  readonly button = el("button", { text: "Variants", attributes: { type: "button", "data-at": "bench", "aria-expanded": "false", "aria-controls": "variants" }, on: { click: () => this.#toggle() } });
  readonly #name = el("input", { attributes: { type: "text", maxlength: LONGEST_NAME, id: "variant-name", autocomplete: "off" } });
  readonly #list = el("ul", { class: "variant-list" });
  readonly #gone = el("ul", { class: "variant-list" });
  readonly #left = el("ul", { class: "variant-list", attributes: { "aria-labelledby": "left-title" } });
  readonly #leftRoom = el("div", { class: "left-room" }, el("h3", { text: "Left by tabs that were closed", attributes: { id: "left-title" } }), this.#left);
  readonly #all = el("button", { text: "Save all as files", attributes: { type: "button" }, on: { click: () => this.#kept().forEach((variant) => this.#save(variant)) } });
  readonly #one = el("select", { attributes: { "aria-label": "One" } });
  readonly #other = el("select", { attributes: { "aria-label": "The other" } });
  readonly #compare = el("button", { text: "Compare", attributes: { type: "button" }, on: { click: () => this.#press() } });
  readonly #progress = el("span", { class: "progress", attributes: { role: "status" } });
  readonly #result = el("div", { class: "compared" });
  readonly #choice = el("div", { class: "actions compare-choice", attributes: { role: "group", "aria-label": "Compare" } }, this.#one, el("span", { text: "with" }), this.#other, this.#compare, this.#progress);
  #allRows = false;

  constructor(
    private readonly bench: BenchStore,
    private readonly variants: Variants,
    private readonly comparer: Comparer,
    /** Jobs that tabs left which were closed. */
    private readonly others: { look(): Promise<void>; drop(id: string): Promise<void> },
    private readonly room: HTMLElement,
  ) {
    const form = el(
      "form",
      { class: "actions", on: { submit: (event) => this.#keep(event) } },
      el("label", { text: "Keep the job as it stands, under the name", attributes: { for: "variant-name" } }),
      this.#name,
      el("button", { text: "Keep it", attributes: { type: "submit" } }),
    );
    room.replaceChildren(
      el(
        "div",
        { class: "list-head" },
        el("h2", { text: "Variants", attributes: { id: "variants-title", tabindex: -1 } }),
        el("button", { text: "Close", attributes: { type: "button" }, on: { click: () => this.#toggle() } }),
      ),
      el("p", { class: "says", text: "Try a brace or a saddle otherwise, keep each try under a name, and see side by side what it changes. Variants are kept in this browser." }),
      form,
      this.#list,
      this.#gone,
      this.#leftRoom,
      this.#choice,
      this.#result,
    );
  }

  render(state: Bench, before: Bench | undefined): void {
    if (this.room.hidden) return;
    if (before === undefined || before.variants !== state.variants || before.left !== state.left || this.#list.childElementCount === 0) this.#drawList(state);
    if (before === undefined || before.comparison !== state.comparison || before.unit !== state.unit) this.#drawComparison(state);
  }

  #kept(): Variant[] {
    return this.bench.get().variants.filter(({ removed }) => !removed);
  }

  #toggle(): void {
    const open = this.room.hidden !== false;
    this.room.hidden = !open;
    document.body.classList.toggle("with-variants", open);
    this.button.setAttribute("aria-expanded", String(open));
    if (!open) {
      this.button.focus();
      return;
    }
    this.render(this.bench.get(), undefined);
    void this.others.look();
    this.room.scrollIntoView({ block: "start" });
    document.getElementById("variants-title")?.focus({ preventScroll: true });
  }

  #keep(event: SubmitEvent): void {
    event.preventDefault();
    settle(this.bench);
    const { variants } = this.bench.get();
    const job = jobOf(this.bench.get());
    if (job === undefined) return;
    const taken = new Set(variants.map(({ name }) => name));
    const wanted = this.#name.value.trim() || "Variant";
    let name = wanted;
    for (let count = 2; taken.has(name); count += 1) name = `${wanted} ${count}`;
    void this.variants.keep(name, job);
    this.#name.value = "";
  }

  #drawList(state: Bench): void {
    const focused = document.activeElement instanceof HTMLElement && this.room.contains(document.activeElement) ? document.activeElement.dataset["key"] : undefined;
    const kept = this.#kept();
    this.#list.replaceChildren(...kept.map((variant) => this.#line(variant)), ...(kept.length > 1 ? [el("li", {}, this.#all)] : []));
    this.#gone.replaceChildren(...state.variants.filter(({ removed }) => removed).map((variant) => this.#goneLine(variant)));
    this.#leftRoom.hidden = state.left.length === 0;
    this.#left.replaceChildren(...state.left.map((record) => this.#leftLine(record)));
    for (const [select, otherwise] of [[this.#one, PRESENT], [this.#other, kept.at(-1)?.id ?? PRESENT]] as const) {
      const chosen = select.value;
      select.replaceChildren(...[{ id: PRESENT, name: "the job as it stands" }, ...kept].map(({ id, name }) => el("option", { text: name, attributes: { value: id } })));
      select.value = kept.some(({ id }) => id === chosen) ? chosen : otherwise;
    }
    this.#choice.hidden = kept.length === 0;
    if (focused !== undefined) this.room.querySelector<HTMLElement>(`[data-key="${CSS.escape(focused)}"]`)?.focus();
  }

  #line(variant: Variant): HTMLElement {
    const { id, name, job, made } = variant;
    const button = (text: string, work: () => void) => el("button", { text, attributes: { type: "button", "aria-label": `${text}: ${name}`, "data-key": `${text} ${id}` }, on: { click: work } });
    return el(
      "li",
      {},
      el("span", { class: "variant-name" }, el("strong", { text: name }), el("span", { class: "need", text: ` ${jobName(job)}, kept ${whenText(made)}` })),
      el(
        "span",
        { class: "actions" },
        button("Lay it on the bench", () => this.#lay(job, `Variant “${name}” was laid on the bench`)),
        button("Save as a file", () => this.#save(variant)),
        button("Remove", () => {
          void this.variants.setRemoved(id, true);
          this.room.querySelector<HTMLElement>(`[data-key="Bring it back ${CSS.escape(id)}"]`)?.focus();
        }),
      ),
    );
  }

  #goneLine({ id, name }: Variant): HTMLElement {
    const button = (text: string, work: () => void) => el("button", { text, attributes: { type: "button", "aria-label": `${text}: ${name}`, "data-key": `${text} ${id}` }, on: { click: work } });
    return el(
      "li",
      { class: "gone" },
      el("span", { class: "variant-name", text: `“${name}” was removed.` }),
      el("span", { class: "actions" }, button("Bring it back", () => void this.variants.setRemoved(id, false)), button("Let it go", () => void this.variants.letGo(id))),
    );
  }

  #leftLine({ id, job, changed }: Bench["left"][number]): HTMLElement {
    const name = jobName(job);
    const button = (text: string, work: () => void) => el("button", { text, attributes: { type: "button", "aria-label": `${text}: ${name}`, "data-key": `${text} ${id}` }, on: { click: work } });
    return el(
      "li",
      {},
      el("span", { class: "variant-name" }, el("strong", { text: name }), el("span", { class: "need", text: ` ${whenText(changed)}` })),
      el("span", { class: "actions" }, button("Lay it on the bench", () => this.#lay(job, `${name}, left by another tab, was laid on the bench`)), button("Let it go", () => void this.others.drop(id))),
    );
  }

  #lay(job: Json, words: string): void {
    commit(this.bench, job, words);
    this.bench.set({ unread: new Map(), notice: { tone: "plain", text: `${words}. The job before it is one step back.` } });
  }

  #save({ name, job }: Variant): void {
    save(new TextEncoder().encode(JSON.stringify(job, null, 2)), `${fileStem(job)}-${forFileName(name) || "variant"}.json`, "application/json");
  }

  #press(): void {
    if (this.bench.get().comparison?.work === "measuring") {
      this.comparer.stop();
      return;
    }
    settle(this.bench);
    this.#allRows = false;
    const side = (id: string): { name: string; job: Json } | undefined => {
      const draft = jobOf(this.bench.get());
      const variant = this.#kept().find((candidate) => candidate.id === id);
      return variant ?? (draft === undefined ? undefined : { name: "As it stands", job: draft });
    };
    const [one, other] = [side(this.#one.value), side(this.#other.value)];
    if (one !== undefined && other !== undefined) void this.comparer.compare(one, other);
  }

  #drawComparison(state: Bench): void {
    const { comparison } = state;
    setText(this.#compare, comparison?.work === "measuring" ? "Stop" : "Compare");
    setText(this.#progress, comparison === undefined ? "" : progressText(comparison));
    this.#result.replaceChildren(...(comparison === undefined ? [] : this.#tables(comparison, state)));
  }

  #tables(comparison: Comparison, state: Bench): HTMLElement[] {
    const { one, other } = comparison;
    const { schema, unit } = state;
    const names = [one.name, other.name];
    const parameters = parameterDifferences(comparison).map(({ path, from, to }) => [
      el("span", { text: parameterText(path) }),
      el("span", { text: valueText(schema, one.job, path, from, unit) }),
      el("span", { text: valueText(schema, other.job, path, to, unit) }),
    ]);
    const tables = [table("Parameters", "No parameter differs.", ["Parameter", ...names], parameters)];
    const [a, b] = [one.weighed, other.weighed];
    for (const side of [one, other]) {
      if (side.weighed?.ok === false) tables.push(el("div", { class: "fault" }, `${side.name} cannot be built: `, ...side.weighed.violations.map((violation) => el("span", { text: `${violation.path}: ${faultText(violation, unit)} ` }))));
    }
    if (a?.ok !== true || b?.ok !== true) return tables;
    const rows = rowDifferences(a.clearances, b.clearances);
    const nameOf = namer([...a.parts, ...b.parts]);
    const said = (row: Clearance | undefined) =>
      row === undefined
        ? el("span", { text: "not there" })
        : el("span", { class: row.ok ? "said" : "said fails" }, mark(row.ok), el("span", { text: row.state === "overlapping" ? gapText(row, unit) : `${gapText(row, unit)}, ${verdict(row)}` }));
    const rowLine = ({ one: left, other: right }: RowPair) => {
      const lead = left ?? right;
      const name = lead === undefined ? "" : [pairText(lead, nameOf), lead.pose === "swing" ? "least of the swing" : poseText({ ...lead, key_angle_deg: null })].filter((words) => words !== "").join(", ");
      return [el("span", { text: name }), said(left), said(right)];
    };
    const shown = this.#allRows ? rows : rows.slice(0, FIRST_ROWS);
    tables.push(table("Clearances", "No row of the list differs.", ["Pair", ...names], shown.map(rowLine)));
    if (rows.length > FIRST_ROWS) {
      tables.push(
        el("button", {
          class: "plain",
          text: this.#allRows ? "Show the first only" : `Show the other ${rows.length - FIRST_ROWS}`,
          attributes: { type: "button" },
          on: {
            click: () => {
              this.#allRows = !this.#allRows;
              this.#drawComparison(this.bench.get());
              this.#result.querySelector<HTMLElement>("button.plain")?.focus();
            },
          },
        }),
      );
    }
    tables.push(massTable(masses(a, b), names));
    return tables;
  }
}

function whenText(at: number): string {
  return new Date(at).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}

function progressText({ one, other, work }: Comparison): string {
  const measured = [one, other].filter(({ weighed }: Side) => weighed !== undefined).length;
  switch (work) {
    case "measuring":
      return `Measuring, ${measured} of 2 done …`;
    case "stopped":
      return `Stopped, ${measured} of 2 measured.`;
    case "failed":
      return "The measuring broke off.";
    case "done":
      return "Both measured.";
  }
}

function massTable(pairs: ReturnType<typeof masses>, names: string[]): HTMLElement {
  const text = (grams: number | undefined) => (grams === undefined ? "not there" : `${grams.toFixed(2)} g`);
  const sum = (which: "one" | "other") => pairs.reduce((total, pair) => total + (pair[which] ?? 0), 0);
  const line = (name: string, one: number | undefined, other: number | undefined) => {
    const more = (other ?? 0) - (one ?? 0);
    const change = Math.abs(more) < SAME_G ? "the same" : `${more > 0 ? "+" : "−"}${Math.abs(more).toFixed(2)} g`;
    return [el("span", { text: name }), el("span", { text: text(one) }), el("span", { text: text(other) }), el("span", { text: change })];
  };
  const lines = pairs.map(({ part, one, other }) => line(part.name.charAt(0).toUpperCase() + part.name.slice(1), one, other));
  return table("Mass", "", ["Part", ...names, "Change"], [...lines, line("Whole neck", sum("one"), sum("other"))]);
}

/** Nobody weighs a hundredth of a gram at the bench. */
const SAME_G = 0.005;

/** A table under its heading; the first cell of each line names it. */
function table(title: string, none: string, heads: string[], lines: HTMLElement[][]): HTMLElement {
  return el(
    "div",
    { class: "compared-part" },
    el("h3", { text: title }),
    lines.length === 0
      ? el("p", { class: "says", text: none })
      : el(
          "div",
          { class: "twin-scroll", attributes: { tabindex: 0, role: "region", "aria-label": `${title}, side by side` } },
          el(
            "table",
            {},
            el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { text: head, attributes: { scope: "col" } })))),
            el("tbody", {}, ...lines.map((cells) => el("tr", {}, ...cells.map((cell, index) => (index === 0 ? el("th", { attributes: { scope: "row" } }, cell) : el("td", {}, cell)))))),
          ),
        ),
  );
}
