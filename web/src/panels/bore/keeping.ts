// What becomes of the second bore: kept as a variant, or laid in the job on the bench.
import { LONGEST_NAME } from "../../keeping/variants.ts";
import { type BenchStore, commit, jobOf } from "../../state/bench.ts";
import { linesOf, withRows } from "../../state/bore.ts";
import type { Json } from "../../state/json.ts";
import type { LengthUnit } from "../../state/lengths.ts";
import type { BoreRead, Neck } from "../../worker/bore-talk.ts";
import { el, setText } from "../../dom.ts";
import type { Chosen } from "./chosen.ts";
import { button, part } from "../room-parts.ts";
import { textFaults } from "./table.ts";

export class Keeping {
  readonly element: HTMLElement;
  readonly #name = el("input", { attributes: { type: "text", id: "bore-name", maxlength: LONGEST_NAME, autocomplete: "off" } });
  readonly #done = el("p", { class: "says", attributes: { role: "status", id: "bore-done" } });
  #unit: LengthUnit = "mm";

  constructor(
    private readonly bench: BenchStore,
    private readonly chosen: Chosen,
    /** Whether what is chosen is what the comparison tells of. */
    private readonly isSound: () => boolean,
    private readonly read: (neck: Neck, csv: string) => Promise<BoreRead | undefined>,
    private readonly keepVariant: (name: string, job: Json) => void,
  ) {
    this.element = part(
      "bore-of-keeping",
      "Keep the second bore",
      el("p", { class: "turn-line" }, el("label", { text: "As a variant, named", attributes: { for: "bore-name" } }), this.#name, button("Keep it", () => this.#keep())),
      el("div", { class: "actions" }, button("Lay it in the job on the bench", () => void this.#toBench())),
      this.#done,
    );
  }

  render(unit: LengthUnit): void {
    this.#unit = unit;
  }

  #keep(): void {
    const b = this.chosen.necks()?.b;
    if (b === undefined || !this.isSound()) return setText(this.#done, "What is wrong in it must be put right first: nothing was kept.");
    const { rows } = this.chosen.now;
    const taken = new Set(this.chosen.variants.map(({ name }) => name));
    const wanted = this.#name.value.trim() || "Bore";
    let name = wanted;
    for (let count = 2; taken.has(name); count += 1) name = `${wanted} ${count}`;
    this.#name.value = "";
    this.keepVariant(name, rows === undefined ? b.job : withRows(b.job, rows));
    setText(this.#done, `It is kept as the variant “${name}”: on the bench it stands under Variants.`);
  }

  /** The bore alone goes into the job on the bench; the core of this room says first whether that neck can be made with it. */
  async #toBench(): Promise<void> {
    const job = jobOf(this.bench.get());
    if (job === undefined || !this.isSound()) return setText(this.#done, "What is wrong in it must be put right first: nothing was changed.");
    const rows = this.chosen.rows();
    const read = await this.read({ name: "bench", job }, linesOf(rows));
    if (read === undefined) return;
    if (jobOf(this.bench.get()) !== job || linesOf(this.chosen.rows()) !== linesOf(rows)) return setText(this.#done, "Bench or bore were changed meanwhile: nothing was laid on the bench.");
    const wrong = read.ok ? read.broken : read.violations;
    if (wrong.length > 0) return setText(this.#done, `It cannot be the bore of the neck on the bench. ${textFaults(wrong, this.#unit).join(" ")}`);
    commit(this.bench, withRows(job, rows), "Another bore from the room Bore");
    setText(this.#done, "It is the bore of the job on the bench now; there it can be taken back as one change.");
  }
}
