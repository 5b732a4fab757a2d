// A first visit: what lies on the bench, and what to begin with. The neck already stands behind it.
import { type Bench, type BenchStore } from "../state/bench.ts";
import { el } from "../dom.ts";
import type { Exports } from "./exports.ts";

export class StartPanel {
  readonly #alto = el("button", { class: "first", text: "Go on with this alto", attributes: { type: "button" } });

  constructor(
    bench: BenchStore,
    private readonly room: HTMLElement,
    files: Exports,
  ) {
    this.#alto.addEventListener("click", () => bench.set({ start: false }));
    const button = (text: string, work: () => void) => el("button", { text, attributes: { type: "button" }, on: { click: work } });
    room.replaceChildren(
      el("h2", { text: "What do you begin with?", attributes: { id: "start-title" } }),
      el("p", {
        text: "An alto stands here. Its numbers are starting values, from memory or invented: each is to be measured on the horn before any metal is cut.",
      }),
      el("div", { class: "actions" }, this.#alto, button("A tenor", () => files.begin("tenor")), button("A job of mine", () => files.choose())),
    );
  }

  render({ start }: Bench, before: Bench | undefined): void {
    const had = this.room.contains(document.activeElement);
    this.room.hidden = !start;
    // one key begins: Enter on the button that has the focus
    if (start && before?.start !== true) this.#alto.focus({ preventScroll: true });
    else if (!start && had) document.getElementById("canvas")?.focus({ preventScroll: true });
  }
}
