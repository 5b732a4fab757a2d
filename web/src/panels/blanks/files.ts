// The files of blanks, gauges and lay, and all of them on paper at true size.
import type { BlanksTalk, BlankView, OnSheet } from "../../worker/blanks-talk.ts";
import type { SideCore } from "../../worker/side-core.ts";
import { el } from "../../dom.ts";
import { save } from "../exports.ts";

const TYPES: Readonly<Record<string, string>> = { dxf: "image/vnd.dxf", svg: "image/svg+xml", json: "application/json", pdf: "application/pdf" };

const PAPERS = [
  { id: "a4", name: "A4" },
  { id: "letter", name: "Letter" },
] as const;

export type Paper = (typeof PAPERS)[number]["id"];

export class FilesPanel {
  readonly element = el("div", { class: "group" });
  readonly #says = el("p", { class: "says", attributes: { role: "status" } });
  readonly #rows = el("div", { class: "group" });
  readonly #paper: HTMLSelectElement;
  #on: OnSheet | undefined;
  #lay: { seed: number; rounds: number } | undefined;
  /** What the buttons that stand there are of. */
  #stands = "";

  constructor(
    private readonly core: SideCore<BlanksTalk>,
    paper: Paper,
    choose: (paper: Paper) => void,
    /** How the names of all files begin. */
    private readonly stem: () => string,
  ) {
    this.#paper = el(
      "select",
      { attributes: { id: "blanks-paper" }, on: { change: () => choose(this.#paper.value === "letter" ? "letter" : "a4") } },
      ...PAPERS.map(({ id, name }) => el("option", { text: name, attributes: { value: id, selected: id === paper } })),
    );
    this.element.append(this.#rows, this.#says);
  }

  /** What files there are: of blanks that are sound, and of the lay that stands. */
  render(on: OnSheet | undefined, views: readonly BlankView[], lay: { seed: number; rounds: number } | undefined): void {
    [this.#on, this.#lay] = [on, lay];
    // buttons that would be the same stay: one that is being pressed must not be changed for another under the hand
    const stands = JSON.stringify([on === undefined, lay === undefined, views.map(({ order }) => order)]);
    if (stands === this.#stands) return;
    this.#stands = stands;
    const focused = document.activeElement instanceof HTMLElement && this.element.contains(document.activeElement) ? document.activeElement.dataset["file"] : undefined;
    const button = (text: string, name: string) =>
      el("button", { text, attributes: { type: "button", "data-file": name, disabled: on === undefined }, on: { click: (event) => void this.#hand(name, event.currentTarget) } });
    const several = views.length > 1;
    const groups = views.map(({ order }, index) => {
      const number = index === 0 ? "" : `_${index + 1}`;
      return el(
        "div",
        { class: "file-group" },
        el("span", { class: "file-name", text: several ? `Order ${order}` : "Blank and gauges" }),
        el(
          "span",
          { class: "actions" },
          button("Blank DXF", `blank${number}.dxf`),
          button("Blank SVG", `blank${number}.svg`),
          button("Gauges DXF", `gauges${number}.dxf`),
          button("Gauges SVG", `gauges${number}.svg`),
          button("Strains", `strain${number}.json`),
        ),
      );
    });
    const laid = el(
      "div",
      { class: "file-group" },
      el("span", { class: "file-name", text: "Lay" }),
      lay === undefined ? el("span", { class: "need", text: "none stands yet" }) : el("span", { class: "actions" }, button("Lay DXF", "lay.dxf"), button("Lay SVG", "lay.svg"), button("Lay as data", "lay.json")),
    );
    const print = el(
      "div",
      { class: "file-group" },
      el("span", { class: "file-name", text: "On paper, 1:1" }),
      el("span", { class: "actions" }, button("PDF at true size", "print.pdf"), el("label", { class: "chord", attributes: { for: "blanks-paper" } }, "on "), this.#paper),
    );
    this.#rows.replaceChildren(...groups, laid, print, el("p", { class: "field-help", text: "The PDF holds blank, gauges and lay on sheets with marks to join them. Print it at 100 % and measure the bar of 100 mm on it before you trace." }));
    if (focused !== undefined) this.element.querySelector<HTMLElement>(`[data-file="${CSS.escape(focused)}"]`)?.focus();
  }

  async #hand(name: string, pressed: EventTarget | null): Promise<void> {
    const [on, lay] = [this.#on, this.#lay];
    if (on === undefined) return;
    const button = pressed instanceof HTMLButtonElement ? pressed : undefined;
    button?.setAttribute("aria-busy", "true");
    this.#says.textContent = "";
    try {
      const wanted = { ...on, seed: lay?.seed ?? 0, rounds: lay?.rounds ?? 0, paper: this.#paper.value === "letter" ? "letter" : "a4" } as const;
      let answer = await this.core.ask("files", wanted);
      while ("rounds" in answer) {
        this.#says.textContent = `Taking the lay up again: ${answer.rounds} of ${wanted.rounds} rounds …`;
        if (on !== this.#on) throw new Error("job or sheet were changed meanwhile");
        answer = await this.core.ask("files", wanted);
      }
      const { files } = answer;
      const file = files.find((one) => one.name === name);
      if (file === undefined) throw new Error("it is not among the files");
      const called = `${this.stem()}-${name}`;
      save(file.bytes as Uint8Array<ArrayBuffer>, called, TYPES[name.split(".").at(-1) ?? ""] ?? "application/octet-stream");
      this.#says.textContent = `${called} is written.`;
    } catch (error) {
      this.#says.textContent = `${name} could not be made: ${error instanceof Error ? error.message : String(error)}.`;
    } finally {
      button?.removeAttribute("aria-busy");
    }
  }
}
