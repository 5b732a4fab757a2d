// The pieces that rooms beside the bench are put together from.
import { el, setText } from "../dom.ts";

/** A section under its own heading. */
export function part(id: string, title: string, ...children: HTMLElement[]): HTMLElement {
  return el("section", { class: "blanks-part", attributes: { "aria-labelledby": id } }, el("h3", { text: title, attributes: { id, tabindex: -1 } }), ...children);
}

/** What is wider than a phone scrolls by itself. */
export function scrolling(name: string, ...children: (HTMLElement | SVGElement)[]): HTMLElement {
  return el("div", { class: "picture-scroll", attributes: { tabindex: 0, role: "region", "aria-label": name } }, ...children);
}

export function button(text: string, work: () => void): HTMLButtonElement {
  return el("button", { text, attributes: { type: "button" }, on: { click: work } });
}

/** Sentences, of which those that stay are left as they are. */
export function list(element: HTMLElement, texts: readonly string[]): void {
  while (element.children.length > texts.length) element.lastElementChild?.remove();
  texts.forEach((text, index) => {
    const item = element.children[index];
    if (item === undefined) element.append(el("li", { text }));
    else setText(item, text);
  });
}

/** Ways to sections of a room that is long where its columns stand one below the other. */
export function ways(to: readonly (readonly [name: string, id: string])[]): HTMLElement {
  const go = (id: string) => {
    const heading = document.getElementById(id);
    heading?.scrollIntoView({ block: "start" });
    heading?.focus({ preventScroll: true });
  };
  return el("nav", { class: "bore-ways", attributes: { "aria-label": "Sections of this room" } }, ...to.map(([name, id]) => button(name, () => go(id))));
}
