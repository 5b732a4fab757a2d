// Beside a field's label: what the number measures, in words and as a small drawing.
import { el } from "../dom.ts";

export class Asked {
  /** The one that is open. */
  #open: { button: HTMLButtonElement; room: HTMLElement } | undefined;

  /** The button to stand beside a label, and the room the help opens in. `says` is read anew each time it opens. */
  pair(name: string, label: string, tablePath: string, id: string, says: () => string): { button: HTMLButtonElement; room: HTMLElement } {
    const button = el("button", {
      class: "ask",
      text: "?",
      attributes: { type: "button", "aria-label": `What ${label} measures`, "aria-expanded": "false", "aria-controls": `${id}-asked`, "data-path": `${name}!` },
    });
    const room = el("div", { class: "asked", attributes: { id: `${id}-asked`, hidden: true, role: "group", "aria-label": `What ${label} measures` } });
    const pair = { button, room };
    button.addEventListener("click", () => (this.#open === pair ? this.#close() : this.#show(pair, label, tablePath, says())));
    for (const part of [button, room] as HTMLElement[]) {
      part.addEventListener("keydown", (event) => {
        if (event.key !== "Escape" || this.#open !== pair) return;
        event.stopPropagation();
        this.#close();
        button.focus();
      });
    }
    return pair;
  }

  #show(pair: { button: HTMLButtonElement; room: HTMLElement }, label: string, tablePath: string, says: string): void {
    this.#close();
    this.#open = pair;
    const drawing = el("div", { class: "asked-drawing" });
    pair.room.replaceChildren(drawing, el("p", { text: says }));
    pair.room.hidden = false;
    pair.button.setAttribute("aria-expanded", "true");
    import("./help/help.ts")
      .then(({ drawingOf }) => drawing.replaceChildren(...[drawingOf(tablePath, label)].filter((found) => found !== undefined)))
      // the words stand without it
      .catch(() => undefined)
      .finally(() => pair.room.scrollIntoView({ block: "nearest" }));
  }

  #close(): void {
    if (this.#open === undefined) return;
    this.#open.room.hidden = true;
    this.#open.button.setAttribute("aria-expanded", "false");
    this.#open = undefined;
  }
}
