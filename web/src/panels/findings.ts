// What is to be known beside the clearances: what the key does, how things run, what metal is left, what room tools have,
// and how every joint stands.
import type { Bench, BenchStore } from "../state/bench.ts";
import { type LengthUnit, lengthsIn, lengthText } from "../state/lengths.ts";
import { pairKey } from "../state/pairs.ts";
import type { Finding, Findings, JointFinding } from "../worker/protocol.ts";
import { el, setText } from "../dom.ts";
import { mark, namer, pairText } from "./clearances.ts";

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

/** Numbers that are about one joint. */
interface Joint {
  /** The pair, as the view goes to it. */
  key: string;
  name: string;
  value: string;
  says: string;
  lines: Line[];
}

interface Chapter {
  id: string;
  title: string;
  lines: Line[];
  joints: Joint[];
  /** Its numbers are still of the neck before. */
  measuring: boolean;
}

/** Greatest length that is judged by thousandths of a millimetre. */
const FINE_MM = 0.2;

function chaptersOf(findings: Findings, { joints, parts, unit }: Pick<Bench, "joints" | "parts" | "unit">): Chapter[] {
  const chapter = (id: string, title: string, list: readonly Finding[]): Chapter => ({ id, title, lines: list.map((finding) => lineOf(finding, unit)), joints: [], measuring: false });
  const nameOf = namer(parts);
  return [
    chapter("key", "What the key does", findings.key),
    chapter("running", "Running fits", findings.running),
    chapter("walls", "Metal left", findings.walls),
    chapter("access", "Room for tools", findings.access),
    { id: "joints", title: "Joints", lines: [], joints: joints.list.map((joint) => jointOf(joint, unit, nameOf)), measuring: joints.measuring },
  ];
}

function jointOf(joint: JointFinding, unit: LengthUnit, nameOf: (id: string) => string): Joint {
  const [least, mean, area] = ["gap_least", "gap_mean", "area"].map((id) => numberOf(joint, id));
  const says = [least === undefined ? [] : ["least gap"], mean === undefined ? [] : [`mean ${gapText(mean, unit)}`], area === undefined ? [] : [quantityText(area, area.value ?? 0, unit)]];
  return {
    key: pairKey(joint),
    name: pairText(joint, nameOf),
    value: least === undefined ? "not known" : gapText(least, unit),
    says: says.flat().join(", "),
    // the two ends of one part may both have a lap
    lines: joint.numbers.map((finding, index) => ({ ...lineOf(finding, unit, isGap(finding)), id: `${finding.id}-${index}` })),
  };
}

/** A number of a joint that has a value. */
function numberOf({ numbers }: JointFinding, id: string): Finding | undefined {
  return numbers.find((finding) => finding.id === id && finding.value !== null);
}

/** Gaps of joints are judged by hundredths, so they are told by thousandths, asked or not. */
function isGap({ id }: Finding): boolean {
  return id.includes("gap_");
}

function gapText(gap: Finding | undefined, unit: LengthUnit): string {
  return gap === undefined ? "" : quantityText(gap, gap.value ?? 0, unit, true);
}

/** The gap of a joint, cold, from its least to its greatest. */
export function gapsText(joint: JointFinding, unit: LengthUnit): string {
  const [least, greatest] = [gapText(numberOf(joint, "gap_least"), unit), gapText(numberOf(joint, "gap_greatest"), unit)];
  return least === greatest ? least : `${least.replace(` ${unit}`, "")} to ${greatest}`;
}

/** What the place of a joint is about. */
export function placeText({ numbers }: JointFinding): string {
  return numbers.some((finding) => isGap(finding) && finding.ok === false) ? "the ring is where its gap is worst" : "the ring is where its gap is nearest to a limit";
}

function lineOf(finding: Finding, unit: LengthUnit, finer = false): Line {
  const { id, value, ok } = finding;
  const show = (number: number) => quantityText(finding, number, unit, finer);
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
    value: known !== undefined ? show(known) : ok === false ? "none" : "not known",
    what: lengthsIn(finding.what, unit),
    asked,
    ok,
    word: ok === true ? "as asked" : ok === null ? "" : known === undefined ? "missing" : known < (least ?? -Infinity) ? "too little" : "too much",
    why: lengthsIn(finding.why, unit),
  };
}

function quantityText({ unit: of, asked_max }: Finding, number: number, unit: LengthUnit, finer = false): string {
  if (of === "mm") return `${lengthText(number, unit, finer || (asked_max ?? Infinity) <= FINE_MM ? 1 : 0)} ${unit}`;
  return of === "°" ? `${number.toFixed(2)}°` : `${number.toFixed(2)} ${of}`;
}

function linesOf({ lines, joints }: Chapter): Line[] {
  return [...lines, ...joints.flatMap((joint) => joint.lines)];
}

function wrongOf(lines: readonly Line[]): number {
  return lines.filter(({ ok }) => ok === false).length;
}

function wrongText(wrong: number): string {
  return wrong === 0 ? "as asked" : `${wrong} not as asked`;
}

export class FindingsPanel {
  /** Chapters and lines that stand open. */
  #open = new Set<string>();
  /** Chapters with something not as asked when they were last drawn: one that is new among them opens by itself. */
  #wrong = new Set<string>();

  constructor(
    private readonly bench: BenchStore,
    private readonly room: HTMLElement,
    private readonly verdictLine: HTMLElement,
  ) {}

  render(state: Bench, before: Bench | undefined): void {
    const findings = state.clearances?.findings;
    if (findings === undefined) return;
    if (before !== undefined && before.clearances === state.clearances && before.joints === state.joints && before.joint === state.joint && before.unit === state.unit) return;
    const chapters = chaptersOf(findings, state);
    const all = chapters.flatMap((chapter) => (chapter.measuring ? [] : linesOf(chapter)));
    const wrong = wrongOf(all);
    const asked = all.filter(({ ok }) => ok !== null).length;
    setText(this.verdictLine, wrong === 0 ? `All ${asked} are as asked` : `${wrong} of ${asked} ${wrong === 1 ? "is" : "are"} not as asked`);
    this.verdictLine.classList.toggle("fails", wrong > 0);

    this.#noteOpen();
    const wrongBefore = this.#wrong;
    this.#wrong = new Set(chapters.filter((chapter) => (chapter.measuring ? wrongBefore.has(chapter.id) : wrongOf(linesOf(chapter)) > 0)).map(({ id }) => id));
    for (const id of this.#wrong) if (!wrongBefore.has(id)) this.#open.add(id);
    const focused = document.activeElement instanceof HTMLElement && this.room.contains(document.activeElement) ? document.activeElement.dataset["key"] : undefined;
    this.room.replaceChildren(...[...chapters].sort((a, b) => this.#rank(a) - this.#rank(b)).map((chapter) => this.#chapter(chapter, state)));
    if (focused !== undefined) this.room.querySelector<HTMLElement>(`[data-key="${CSS.escape(focused)}"]`)?.focus();
  }

  #rank({ id }: Chapter): number {
    return this.#wrong.has(id) ? 0 : 1;
  }

  #chapter(chapter: Chapter, { joint: chosen }: Bench): HTMLElement {
    const { id, title, lines, joints, measuring } = chapter;
    const wrong = measuring ? 0 : wrongOf(linesOf(chapter));
    const summary = el(
      "summary",
      { class: wrong > 0 ? "chapter-head fails" : "chapter-head", attributes: { "data-key": `chapter-${id}` } },
      measuring ? el("span", { class: "shape-room" }) : mark(wrong === 0),
      el("span", { class: "what", text: title }),
      el("span", { class: "word", text: measuring ? "being measured …" : wrongText(wrong) }),
    );
    const ordered = [...joints].sort((a, b) => Number(wrongOf(a.lines) === 0) - Number(wrongOf(b.lines) === 0));
    return this.#details(id, "chapter", summary, el("ul", {}, ...ordered.map((joint) => el("li", {}, this.#joint(joint, joint.key === chosen))), ...this.#lines(id, lines)));
  }

  /** A joint with all its numbers; opened, it takes the view to its place. */
  #joint({ key, name, value, says, lines }: Joint, chosen: boolean): HTMLElement {
    const id = `joint-${key}`;
    const wrong = wrongOf(lines);
    const summary = el(
      "summary",
      { class: wrong > 0 ? "pair fails" : "pair", attributes: { "data-key": id, "aria-current": chosen ? "location" : undefined } },
      mark(wrong === 0),
      el("span", { class: "gap", text: value }),
      el("span", { class: "what" }, el("span", { class: "names", text: name }), el("span", { class: "need", text: says === "" ? "" : `, ${says}` })),
      el("span", { class: "word", text: wrongText(wrong) }),
    );
    const details = this.#details(id, "finding joint", summary, el("ul", {}, ...this.#lines(id, lines)));
    summary.addEventListener("click", (event) => {
      // all is drawn anew with the place: it has to stand open before that
      event.preventDefault();
      details.open = !details.open;
      if (details.open !== chosen) this.bench.set({ joint: details.open ? key : undefined });
    });
    return details;
  }

  /** What is not as asked first. */
  #lines(chapter: string, lines: readonly Line[]): HTMLElement[] {
    const ordered = [...lines].sort((a, b) => Number(a.ok !== false) - Number(b.ok !== false));
    return ordered.map((line) => el("li", {}, this.#line(chapter, line)));
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

  /** What stands open is read where it stands: the browser tells of it later, and what is drawn anew before that would close. */
  #noteOpen(): void {
    for (const details of this.room.querySelectorAll("details")) {
      const id = details.dataset["finding"] ?? "";
      if (details.open) this.#open.add(id);
      else this.#open.delete(id);
    }
  }

  #details(id: string, kind: string, summary: HTMLElement, body: HTMLElement): HTMLDetailsElement {
    return el("details", { class: kind, attributes: { open: this.#open.has(id), "data-finding": id } }, summary, body);
  }
}
