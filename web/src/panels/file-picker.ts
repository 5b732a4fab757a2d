// Asks for a file, out of sight: a button stands for it.
import { el } from "../dom.ts";

export function filePicker(take: (file: File) => void, accept = ".json,application/json"): HTMLInputElement {
  const input = el("input", {
    attributes: { type: "file", accept, hidden: true, "aria-hidden": "true", tabindex: -1 },
    on: {
      change: () => {
        const [file] = input.files ?? [];
        if (file !== undefined) take(file);
        input.value = "";
      },
    },
  });
  return input;
}
