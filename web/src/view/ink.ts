// What is written over the view, kept from one picture to the next: while a part is moved its ink only changes places, and what
// is put in anew would make the browser work out styles and layout for it.
import { setAttribute, setText, svg } from "../dom.ts";

/** A line, a ring or a word of the ink. */
export interface Stroke {
  tag: "path" | "circle" | "text";
  class: string;
  /** Of a word. */
  text?: string;
  attributes: Readonly<Record<string, string | number>>;
}

/** A place of the view, CSS pixels from its top left corner. */
export interface Point {
  x: number;
  y: number;
}

export function path(name: string, d: string): Stroke {
  return { tag: "path", class: name, attributes: { d } };
}

export function ring(name: string, { x, y }: Point, r: number): Stroke {
  return { tag: "circle", class: name, attributes: { cx: x, cy: y, r } };
}

export function words(name: string, text: string, { x, y }: Point, more: Stroke["attributes"] = {}): Stroke {
  return { tag: "text", class: name, text, attributes: { x, y, ...more } };
}

/** Makes the layer show these strokes and no others, in their order. */
export function layInk(layer: Element, strokes: readonly Stroke[]): void {
  strokes.forEach((stroke, place) => {
    const there = layer.children[place];
    if (there === undefined) layer.append(drawn(stroke));
    else if (there.localName === stroke.tag && there.getAttribute("class") === stroke.class) redraw(there, stroke);
    else there.replaceWith(drawn(stroke));
  });
  while (layer.childElementCount > strokes.length) layer.lastElementChild?.remove();
}

function drawn({ tag, class: name, text, attributes }: Stroke): SVGElement {
  return svg(tag, { class: name, attributes, ...(text === undefined ? {} : { text }) });
}

function redraw(element: Element, { text, attributes }: Stroke): void {
  // words of one class are written from their middle or from their beginning
  for (const name of element.getAttributeNames()) if (name !== "class" && !(name in attributes)) element.removeAttribute(name);
  for (const [name, value] of Object.entries(attributes)) setAttribute(element, name, String(value));
  setText(element, text ?? "");
}
