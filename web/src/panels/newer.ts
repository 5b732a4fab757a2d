// A newer page is there: said in words, and taken when it suits.
import type { Bench, BenchStore } from "../state/bench.ts";
import { el } from "../dom.ts";

export class NewerPanel {
  constructor(
    bench: BenchStore,
    private readonly room: HTMLElement,
    take: () => void,
  ) {
    room.replaceChildren(
      el("span", { text: "A new version of this page is there. Your job stays as it is, and this version goes on until you take the new one." }),
      el(
        "span",
        { class: "actions" },
        el("button", { text: "Take it now", attributes: { type: "button" }, on: { click: take } }),
        el("button", { text: "Later", attributes: { type: "button" }, on: { click: () => bench.set({ newer: false }) } }),
      ),
    );
  }

  render({ newer }: Bench): void {
    this.room.hidden = !newer;
  }
}
