// Elements in one line. Text goes in as text, so nothing in a job file can become markup.

type Child = Node | string | undefined;

interface Options {
  class?: string | undefined;
  text?: string;
  attributes?: Record<string, string | number | boolean | undefined>;
  on?: { [K in keyof HTMLElementEventMap]?: (event: HTMLElementEventMap[K]) => void };
}

function apply(element: Element, options: Options): void {
  if (options.class !== undefined) element.setAttribute("class", options.class);
  if (options.text !== undefined) element.textContent = options.text;
  for (const [name, value] of Object.entries(options.attributes ?? {})) {
    if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== undefined) element.setAttribute(name, String(value));
  }
  for (const [name, listener] of Object.entries(options.on ?? {})) element.addEventListener(name, listener as EventListener);
}

export function el<K extends keyof HTMLElementTagNameMap>(tag: K, options: Options = {}, ...children: Child[]): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  apply(element, options);
  element.append(...children.filter((child) => child !== undefined));
  return element;
}

export function svg<K extends keyof SVGElementTagNameMap>(tag: K, options: Options = {}, ...children: Child[]): SVGElementTagNameMap[K] {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  apply(element, options);
  element.append(...children.filter((child) => child !== undefined));
  return element;
}

/** A press that moves no more than this, in CSS pixels, is a click. */
export const CLICK_PX = 5;

/** An element of index.html; its absence is a fault of the page itself. */
export function byId(id: string): HTMLElement {
  const found = document.getElementById(id);
  if (found === null) throw new Error(`index.html has no #${id}`);
  return found;
}

/** Sets text only where it differs, so that screen readers are told of nothing new. */
export function setText(element: Element, text: string): void {
  if (element.textContent === text) return;
  const only = element.childNodes.length === 1 ? element.firstChild : null;
  // words in the place of words: the browser works out no styles for them anew
  if (only instanceof Text && text !== "") only.data = text;
  else element.textContent = text;
}

/** Sets an attribute only where it differs: each one that is set makes the browser look for styles that depend on it. */
export function setAttribute(element: Element, name: string, value: string): void {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

/** The same of what is hidden. */
export function setHidden(element: HTMLElement, hidden: boolean): void {
  if (element.hidden !== hidden) element.hidden = hidden;
}
