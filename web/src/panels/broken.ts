// What lay in the browser and could not be read: it is told, and given out as it is.
import type { Bench, BenchStore } from "../state/bench.ts";
import { el } from "../dom.ts";
import { save } from "./exports.ts";

export class BrokenPanel {
  constructor(
    private readonly bench: BenchStore,
    private readonly room: HTMLElement,
    private readonly letGo: (id: string) => Promise<void>,
  ) {}

  render({ broken }: Bench, before: Bench | undefined): void {
    if (before?.broken === broken) return;
    this.room.hidden = broken.length === 0;
    const what = broken.length === 1 ? "A job that this browser kept cannot be read any more. It is" : `${broken.length} jobs that this browser kept cannot be read any more. They are`;
    this.room.replaceChildren(
      el("span", { text: `${what} set aside, not thrown away.` }),
      el(
        "span",
        { class: "actions" },
        el("button", {
          text: broken.length === 1 ? "Save it as a file" : "Save them as files",
          attributes: { type: "button" },
          on: { click: () => this.bench.get().broken.forEach(({ text }, index) => save(new TextEncoder().encode(text), `kept-and-not-read-${index + 1}.json`, "application/json")) },
        }),
        el("button", { text: "Let go of it", attributes: { type: "button" }, on: { click: () => this.bench.get().broken.forEach(({ id }) => void this.letGo(id)) } }),
      ),
    );
  }
}
