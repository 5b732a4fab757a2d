// Sheets that the core laid out, through the browser's own printing, each on a page of its own size.
import { el } from "../../dom.ts";

/** Shows the sheets to the printer alone, and takes them away again when the browser asks for no more of them. */
export async function printSheets(svgs: readonly string[], paper: "a4" | "letter", name: string): Promise<void> {
  document.querySelector("#card-sheets")?.remove();
  const addresses = svgs.map((svg) => URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" })));
  const pictures = addresses.map((src, index) => el("img", { class: `card-sheet ${paper}`, attributes: { src, alt: `Job card of ${name}, sheet ${index + 1} of ${svgs.length}` } }));
  const place = el("div", { attributes: { id: "card-sheets" } }, ...pictures);
  document.body.append(place);
  await Promise.all(pictures.map((picture) => picture.decode()));
  document.documentElement.dataset["prints"] = "card";
  const done = () => {
    delete document.documentElement.dataset["prints"];
    place.remove();
    for (const address of addresses) URL.revokeObjectURL(address);
  };
  addEventListener("afterprint", done, { once: true });
  print();
}
