// Packing: what keeps the package from being made, the packing list before anything is sent, and the archive.
import { fieldText, type LengthUnit, lengthsIn } from "../../state/lengths.ts";
import { chosenParts, fieldOf, type Packed, type SendOut } from "../../state/send-out.ts";
import type { Store } from "../../state/store.ts";
import type { PackedFile, PackingList, Violation } from "../../worker/shop-talk.ts";
import { el, setText } from "../../dom.ts";
import { save } from "../exports.ts";
import { faultText } from "../parameters.ts";

interface Ways {
  pack(force: boolean): void;
  stop(): void;
  /** Puts the focus on a field; says whether there is one. */
  goTo(field: string): void;
}

export class PackedPanel {
  readonly element = el("section", { class: "sheet packed-room", attributes: { "aria-labelledby": "packed-title" } });
  readonly #pack = el("button", { class: "first", text: "Pack", attributes: { type: "button" } });
  readonly #stop = el("button", { text: "Stop", attributes: { type: "button", hidden: true } });
  readonly #says = el("p", { class: "packed-says", attributes: { role: "status" } });
  readonly #body = el("div", { class: "packed-body" });
  #drawnOf: unknown[] = [];

  constructor(
    private readonly store: Store<SendOut>,
    private readonly ways: Ways,
  ) {
    this.#pack.addEventListener("click", () => {
      if (!this.store.get().packing) ways.pack(false);
    });
    this.#stop.addEventListener("click", () => {
      ways.stop();
      this.#pack.focus();
    });
    this.element.append(el("h3", { text: "Packing list", attributes: { id: "packed-title" } }), el("div", { class: "actions packed-actions" }, this.#pack, this.#stop, this.#says), this.#body);
  }

  render(state: SendOut, unit: LengthUnit): void {
    const { packing, packed } = state;
    this.element.toggleAttribute("data-packing", packing);
    // kept in reach of the focus: a disabled button would lose it
    this.#pack.setAttribute("aria-disabled", String(packing));
    this.#stop.hidden = !packing;
    setText(this.#says, packing ? "Packing …" : saysOf(packed));
    const drawnOf = [packing, packed, unit];
    if (drawnOf.every((item, index) => item === this.#drawnOf[index])) return;
    this.#drawnOf = drawnOf;
    this.#body.replaceChildren(...(packing || packed === undefined ? [] : this.#result(packed, state, unit)));
  }

  #result(packed: Packed, state: SendOut, unit: LengthUnit): HTMLElement[] {
    switch (packed.kind) {
      case "packed":
        return this.#list(packed, unit);
      case "failing":
        return [
          el("ul", { class: "failing" }, ...packed.violations.map(({ why }) => el("li", { text: lengthsIn(why.replace(/ It is sent only if you say so\.$/, ""), unit) }))),
          el("p", { class: "says", text: "Nothing else is wrong. The packing list would carry each of these, so that the shop knows." }),
          el("button", { text: "Send all the same", attributes: { type: "button" }, on: { click: () => this.ways.pack(true) } }),
        ];
      case "wrong":
        return [el("ul", { class: "failing" }, ...packed.violations.map((violation) => this.#fault(violation, state, unit)))];
      case "stopped":
      case "broken":
        return [];
    }
  }

  #fault(violation: Violation, state: SendOut, unit: LengthUnit): HTMLElement {
    const chosen = chosenParts(state);
    const field = fieldOf(violation, chosen);
    const name = fieldName(field, state);
    return el(
      "li",
      {},
      name === undefined ? `${violation.path}: ` : el("button", { class: "link", text: `${name}:`, attributes: { type: "button", "data-fault": field }, on: { click: () => this.ways.goTo(field) } }),
      ` ${faultText(violation, unit)}`,
    );
  }

  #list({ fileName, list, zip }: Extract<Packed, { kind: "packed" }>, unit: LengthUnit): HTMLElement[] {
    const parts = partsOf(list);
    const pieces = parts.filter(([first]) => first?.part !== "neck");
    const grams = pieces.reduce((sum, [first]) => sum + (first === undefined ? 0 : first.mass_g * first.quantity), 0);
    const heads = ["Part", "How many", "Metal", "Temper", "Thickness", "Mass of one", "Files", "What fails, what to know"];
    return [
      el(
        "div",
        { class: "actions" },
        el("button", { class: "first", text: `Save ${fileName}`, attributes: { type: "button", "data-key": "save-package" }, on: { click: () => save(zip, fileName, "application/zip") } }),
        el("span", { class: "says", text: `${sizeText(zip.length)}, ${list.files.length + 2} files, ${grams.toFixed(1)} g of parts. Nothing has left this machine: send the archive to the shop yourself.` }),
      ),
      el(
        "div",
        { class: "twin-scroll", attributes: { tabindex: 0, role: "region", "aria-label": "What is packed, part by part" } },
        el(
          "table",
          { class: "packing-list" },
          el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { text: head, attributes: { scope: "col" } })))),
          el("tbody", {}, ...parts.map((files) => partRow(files, unit))),
        ),
      ),
      el("p", { class: "says", text: "The same list stands in the archive as packing_list.csv and packing_list.pdf." }),
    ];
  }
}

function saysOf(packed: Packed | undefined): string {
  switch (packed?.kind) {
    case undefined:
      return "Nothing is packed yet.";
    case "packed":
      return packed.forced ? "Packed all the same: look through the list, what fails stands in it." : "Packed: look through the list, then save the archive.";
    case "failing":
      return packed.violations.length === 1 ? "Nothing was packed: one check fails." : `Nothing was packed: ${packed.violations.length} checks fail.`;
    case "wrong":
      return packed.violations.length === 1 ? "Nothing was packed: one thing is wrong." : `Nothing was packed: ${packed.violations.length} things are wrong.`;
    case "stopped":
      return "Stopped: nothing was packed.";
    case "broken":
      return `Nothing was packed: the calculation broke off (${packed.why}). It is started again when you pack again.`;
  }
}

/** What a field is called in a sentence; undefined for one that is no field of this room. */
function fieldName(field: string, { parts }: SendOut): string | undefined {
  const [group, name] = field.split(".");
  const part = parts.find(({ id }) => id === group);
  const words: Readonly<Record<string, string>> = { quantity: "how many", metal: "metal", thickness_mm: "thickness", temper: "temper", part: "part" };
  if (part !== undefined && name !== undefined && name in words) return `${part.name.charAt(0).toUpperCase()}${part.name.slice(1)}, ${words[name]}`;
  const own: Readonly<Record<string, string>> = { necks: "How many necks", name: "File names", step: "STEP files", chord_mm: "Triangles", parts: "What is sent", cutting: "Cutting shop", drawing: "Drawings" };
  return own[group ?? ""];
}

/** The files of a list, part by part. */
function partsOf({ files }: PackingList): PackedFile[][] {
  const parts = new Map<string, PackedFile[]>();
  for (const file of files) parts.set(file.part, [...(parts.get(file.part) ?? []), file]);
  return [...parts.values()];
}

function partRow(files: readonly PackedFile[], unit: LengthUnit): HTMLElement {
  const [first] = files;
  if (first === undefined) return el("tr");
  const { name, quantity, metal, metal_name, temper, thickness_mm, mass_g, findings, notes } = first;
  const said = [...findings.map((text) => ({ text, fails: true })), ...notes.map((text) => ({ text, fails: false }))];
  return el(
    "tr",
    {},
    el("th", { attributes: { scope: "row" } }, name, findings.length === 0 ? undefined : el("span", { class: "fails", text: "▼ fails" })),
    el("td", { class: "number", text: String(quantity) }),
    el("td", { text: /^C\d/.test(metal) ? `${metal_name} (${metal})` : metal_name }),
    el("td", { text: temper }),
    el("td", { class: "number", text: thickness_mm === null ? "" : `${fieldText(thickness_mm, unit)} ${unit}` }),
    el("td", { class: "number", text: `${mass_g.toFixed(2)} g` }),
    el(
      "td",
      {},
      el("details", {}, el("summary", { text: `${files.length} ${files.length === 1 ? "file" : "files"}` }), el("ul", { class: "packed-files" }, ...files.map(({ file, sha256 }) => el("li", {}, file, el("span", { class: "sha", text: `SHA-256 ${sha256}` }))))),
    ),
    el("td", {}, el("ul", { class: "packed-said" }, ...said.map(({ text, fails }) => el("li", { class: fails ? "fails" : undefined, text: `${fails ? "▼ Fails: " : ""}${lengthsIn(text, unit)}` })))),
  );
}

function sizeText(bytes: number): string {
  return bytes < 1e6 ? `${(bytes / 1e3).toFixed(0)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
