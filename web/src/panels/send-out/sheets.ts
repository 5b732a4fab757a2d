// The sheets of the part that is looked at: its outline as it is cut, with what the checks say and where, and its drawing.
// Both are shown as pictures, in which nothing can run.
import { partTitle } from "../../state/cards.ts";
import { type LengthUnit, lengthsIn, lengthText } from "../../state/lengths.ts";
import type { SendOut, Sheets } from "../../state/send-out.ts";
import { el } from "../../dom.ts";

/** Paper shown round the outline, as a share of its greater side, and at least, mm. */
const ROUND_SHARE = 0.06;
const ROUND_MM = 3;
/** A line of the picture is that part of its width: a hair of the file's own would not be seen. */
const LINE_SHARE = 1 / 420;
/** Marks of places nearer than this part of the width would cover each other. */
const NEAR_SHARE = 0.08;
/** A strip is shown at least so high, as a share of its width: marks need room. */
const LEAST_HIGH = 0.22;

interface Frame {
  x: number;
  y: number;
  width: number;
  height: number;
}

export class SheetsPanel {
  readonly element = el("section", { class: "sheet sheets-room", attributes: { "aria-labelledby": "sheets-title" } });
  readonly #title = el("h3", { attributes: { id: "sheets-title" } });
  readonly #body = el("div", { class: "sheets-body", attributes: { "aria-live": "polite" } });
  #drawnOf: unknown[] = [];
  #addresses: string[] = [];

  constructor() {
    this.element.append(this.#title, this.#body);
  }

  render(state: SendOut, unit: LengthUnit): void {
    const drawnOf = [state.sheets, state.looked, unit, state.parts];
    if (drawnOf.every((item, index) => item === this.#drawnOf[index])) return;
    this.#drawnOf = drawnOf;
    const part = state.parts.find(({ id }) => id === state.looked);
    this.element.hidden = part === undefined;
    if (part === undefined) return;
    this.#title.textContent = `Sheets: ${partTitle(part)}`;
    const { sheets } = state;
    if (sheets?.part !== part.id) {
      // what was there before stays in sight only if it is of this part
      this.#show(el("p", { class: "says", text: part.flat || part.drawing ? "Drawing …" : `The ${part.name} goes out as a solid alone: STEP and STL, ${part.madeBy}.` }));
      return;
    }
    if ("why" in sheets) {
      this.#show(el("p", { class: "fault", text: `These sheets cannot be made: ${sheets.why}.` }));
      return;
    }
    const old = this.#addresses;
    this.#addresses = [];
    this.#show(
      ...part.fails.map((text) => el("p", { class: "fault", text: `A clearance fails: ${lengthsIn(text, unit)}` })),
      ...this.#flat(sheets, part.name, unit),
      ...this.#drawing(sheets, part.name),
      sheets.flat === undefined && sheets.drawing === undefined ? el("p", { class: "says", text: `The ${part.name} goes out as a solid alone: STEP and STL, ${part.madeBy}.` }) : el("span"),
    );
    for (const address of old) URL.revokeObjectURL(address);
  }

  #show(...children: HTMLElement[]): void {
    const folds = () => [...this.#body.querySelectorAll("details")];
    const opened = folds().map(({ open }) => open);
    this.#body.replaceChildren(...children);
    for (const [index, fold] of folds().entries()) fold.open = opened[index] === true;
  }

  #image(svg: string, words: string): HTMLImageElement {
    const address = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
    this.#addresses.push(address);
    return el("img", { attributes: { src: address, alt: words } });
  }

  #flat({ flat }: Sheets, name: string, unit: LengthUnit): HTMLElement[] {
    if (flat === undefined) return [];
    const { svg, findings, origin_mm: origin, size_mm: size } = flat;
    const frame = frameOf(origin, size);
    const measure = `${lengthText(size[0], unit)} × ${lengthText(size[1], unit)} ${unit}`;
    const marks = findings.map((finding, index) => {
      const [x, y] = finding.place_mm;
      // places that lie close together have their numbers on different sides of them
      const crowd = findings.slice(0, index).filter(({ place_mm: [otherX, otherY] }) => Math.hypot(x - otherX, y - otherY) < NEAR_SHARE * frame.width).length;
      const mark = el("span", { class: `place side-${crowd % 4}${finding.fails ? " fails" : ""}`, text: String(index + 1), attributes: { "aria-hidden": "true" } });
      mark.style.left = `${(100 * (origin[0] + x - frame.x)) / frame.width}%`;
      mark.style.top = `${(100 * (origin[1] - y - frame.y)) / frame.height}%`;
      return mark;
    });
    const picture = this.#image(framed(svg, frame), `Outline of the ${name} laid flat, ${measure}${findings.length === 0 ? "" : `; ${findings.length === 1 ? "one place is" : `${findings.length} places are`} marked`}`);
    const whole = this.#image(svg, `The outline of the ${name} with its notes, as it is sent`);
    return [
      el("h4", { text: `Laid flat, ${measure}` }),
      el("div", { class: "paper outline" }, el("div", { class: "paper-in" }, picture, ...marks)),
      findings.length === 0
        ? el("p", { class: "says", text: "Nothing to say before cutting." })
        : el(
            "ol",
            { class: "places" },
            ...findings.map((finding, index) =>
              el(
                "li",
                { class: finding.fails ? "fails" : undefined },
                el("span", { class: finding.fails ? "place fails" : "place", text: String(index + 1), attributes: { "aria-hidden": "true" } }),
                el(
                  "span",
                  {},
                  el("strong", { text: finding.fails ? "Fails: " : "To know: " }),
                  `${lengthsIn(finding.words, unit)} (${lengthText(finding.place_mm[0], unit)} ${unit} from the left, ${lengthText(finding.place_mm[1], unit)} ${unit} up)`,
                ),
              ),
            ),
          ),
      el("details", { class: "whole-sheet" }, el("summary", { text: "The whole sheet with its notes, true size" }), scrolled(whole, `The whole sheet of the ${name}`)),
    ];
  }

  #drawing({ drawing }: Sheets, name: string): HTMLElement[] {
    if (drawing === undefined) return [];
    const words = `Drawing of the ${name} for the machine shop`;
    return [
      el("h4", { text: "Drawing" }),
      el("div", { class: "paper" }, this.#image(drawing, words)),
      el("details", { class: "whole-sheet" }, el("summary", { text: "True size" }), scrolled(this.#image(drawing, `${words}, true size`), `${words}, true size`)),
    ];
  }
}

function scrolled(image: HTMLElement, label: string): HTMLElement {
  return el("div", { class: "paper scrolled", attributes: { tabindex: 0, role: "region", "aria-label": label } }, image);
}

/** The outline with some paper round it, in the coordinates of the picture. */
function frameOf([left, bottom]: [number, number], [width, height]: [number, number]): Frame {
  const round = Math.max(ROUND_MM, ROUND_SHARE * Math.max(width, height));
  const [wide, high] = [width + 2 * round, Math.max(height + 2 * round, LEAST_HIGH * (width + 2 * round))];
  return { x: left - round, y: bottom - height / 2 - high / 2, width: wide, height: high };
}

/** The picture cut down to a frame, its lines heavy enough to be seen, without the notes. */
function framed(svg: string, { x, y, width, height }: Frame): string {
  return svg
    .replace(/<svg [^>]*>/, `<svg xmlns="http://www.w3.org/2000/svg" width="${width}mm" height="${height}mm" viewBox="${x} ${y} ${width} ${height}">`)
    .replace(/<g id="note"[\s\S]*?<\/g>/, "")
    .replaceAll('stroke-width="0.1"', `stroke-width="${width * LINE_SHARE}"`);
}
