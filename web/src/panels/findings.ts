// What is to be known beside the clearances: what the key does, how things run, what metal is left.
import type { Bench } from "../state/bench.ts";
import { type LengthUnit, lengthsIn, lengthText } from "../state/lengths.ts";
import type { Finding, Findings } from "../worker/protocol.ts";
import { el, setText } from "../dom.ts";
import { mark } from "./clearances.ts";

/** One number as it is read; chapters with records of their own make the same of them. */
interface Line {
  id: string;
  value: string;
  what: string;
  asked: string;
  /** Null where nothing is asked, or nothing is known. */
  ok: boolean | null;
  word: string;
  why: string;
}

interface Chapter {
  id: string;
  title: string;
  lines: Line[];
}

/** Greatest length that is judged by thousandths of a millimetre. */
const FINE_MM = 0.2;

function chaptersOf(findings: Findings, unit: LengthUnit): Chapter[] {
  const lines = (list: readonly Finding[]) => list.map((finding) => lineOf(finding, unit));
  return [
    { id: "key", title: "What the key does", lines: lines(findings.key) },
    { id: "running", title: "Running fits", lines: lines(findings.running) },
    { id: "walls", title: "Metal left", lines: lines(findings.walls) },
  ];
}

function lineOf(finding: Finding, unit: LengthUnit): Line {
  const { id, value, ok } = finding;
  const show = (number: number) => quantityText(finding, number, unit);
  const [least, most] = [finding.asked_min ?? undefined, finding.asked_max ?? undefined];
  const asked =
    least !== undefined && most !== undefined
      ? `asked ${show(least)} to ${show(most)}`
      : least !== undefined
        ? `asked at least ${show(least)}`
        : most !== undefined
          ? `asked at most ${show(most)}`
          : "nothing asked";
  const known = value ?? undefined;
  return {
    id,
    value: known === undefined ? "not known" : show(known),
    what: lengthsIn(finding.what, unit),
    asked,
    ok,
    word: ok === true ? "as asked" : ok === null || known === undefined ? "" : known < (least ?? -Infinity) ? "too little" : "too much",
    why: lengthsIn(finding.why, unit),
  };
}

function quantityText({ unit: of, asked_max }: Finding, number: number, unit: LengthUnit): string {
  if (of === "mm") return `${lengthText(number, unit, (asked_max ?? Infinity) <= FINE_MM ? 1 : 0)} ${unit}`;
  return of === "°" ? `${number.toFixed(2)}°` : `${number.toFixed(2)} ${of}`;
}

export class FindingsPanel {
  /** Chapters and lines that stand open. */
  #open = new Set<string>();
  /** Chapters with something not as asked when they were last drawn: one that is new among them opens by itself. */
  #wrong = new Set<string>();

  constructor(
    private readonly room: HTMLElement,
    private readonly verdictLine: HTMLElement,
  ) {}

  render(state: Bench, before: Bench | undefined): void {
    const findings = state.clearances?.findings;
    if (findings === undefined) return;
    if (before !== undefined && before.clearances === state.clearances && before.unit === state.unit) return;
    const chapters = chaptersOf(findings, state.unit);
    const all = chapters.flatMap(({ lines }) => lines);
    const wrong = all.filter(({ ok }) => ok === false).length;
    const asked = all.filter(({ ok }) => ok !== null).length;
    setText(this.verdictLine, wrong === 0 ? `All ${asked} are as asked` : `${wrong} of ${asked} ${wrong === 1 ? "is" : "are"} not as asked`);
    this.verdictLine.classList.toggle("fails", wrong > 0);

    const wrongBefore = this.#wrong;
    this.#wrong = new Set(chapters.filter(({ lines }) => lines.some(({ ok }) => ok === false)).map(({ id }) => id));
    for (const id of this.#wrong) if (!wrongBefore.has(id)) this.#open.add(id);
    const focused = document.activeElement instanceof HTMLElement && this.room.contains(document.activeElement) ? document.activeElement.dataset["key"] : undefined;
    this.room.replaceChildren(...[...chapters].sort((a, b) => this.#rank(a) - this.#rank(b)).map((chapter) => this.#chapter(chapter)));
    if (focused !== undefined) this.room.querySelector<HTMLElement>(`[data-key="${CSS.escape(focused)}"]`)?.focus();
  }

  #rank({ id }: Chapter): number {
    return this.#wrong.has(id) ? 0 : 1;
  }

  #chapter({ id, title, lines }: Chapter): HTMLElement {
    const wrong = lines.filter(({ ok }) => ok === false).length;
    const summary = el(
      "summary",
      { class: wrong > 0 ? "chapter-head fails" : "chapter-head", attributes: { "data-key": `chapter-${id}` } },
      mark(wrong === 0),
      el("span", { class: "what", text: title }),
      el("span", { class: "word", text: wrong === 0 ? "as asked" : `${wrong} not as asked` }),
    );
    const ordered = [...lines].sort((a, b) => Number(a.ok !== false) - Number(b.ok !== false));
    return this.#details(id, "chapter", summary, el("ul", {}, ...ordered.map((line) => el("li", {}, this.#line(id, line)))));
  }

  #line(chapter: string, line: Line): HTMLElement {
    const id = `${chapter}-${line.id}`;
    const summary = el(
      "summary",
      { class: line.ok === false ? "pair fails" : "pair", attributes: { "data-key": `finding-${id}` } },
      line.ok === null ? el("span", { class: "shape-room" }) : mark(line.ok),
      el("span", { class: "gap", text: line.value }),
      el("span", { class: "what" }, el("span", { class: "names", text: line.what }), el("span", { class: "need", text: `, ${line.asked}` })),
      el("span", { class: "word", text: line.word }),
    );
    return this.#details(id, "finding", summary, el("p", { class: "why", text: line.why }));
  }

  #details(id: string, kind: string, summary: HTMLElement, body: HTMLElement): HTMLElement {
    const details = el("details", { class: kind, attributes: { open: this.#open.has(id), "data-finding": id } }, summary, body);
    details.addEventListener("toggle", () => {
      if (details.open) this.#open.add(id);
      else this.#open.delete(id);
    });
    return details;
  }
}
