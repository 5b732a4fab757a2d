// Variants in the browser's store: one record each, so that two tabs never write over one another's.
import type { Bench, BenchStore } from "../state/bench.ts";
import { asJob } from "../state/job-file.ts";
import type { Json } from "../state/json.ts";
import type { Variant } from "../state/variants.ts";
import type { BrokenRecords } from "./broken.ts";
import { isNewer } from "./record.ts";
import type { Shelf } from "./shelf.ts";

const FORMAT = "neckwright-variant/1";
/** Longer names are for the note. */
export const LONGEST_NAME = 60;

export class Variants {
  constructor(
    private readonly bench: BenchStore,
    private readonly shelf: Shelf,
    private readonly broken: BrokenRecords,
  ) {}

  /** Reads what is kept, and again whenever the maker comes back from another tab. */
  async begin(): Promise<void> {
    await this.#read();
    addEventListener("focus", () => void this.#read());
  }

  async #read(): Promise<void> {
    try {
      const all = await this.shelf.all("variants");
      const broken = all.filter((value) => readVariant(value) === undefined && !isNewer(value));
      if (broken.length > 0) await this.broken.setAside("variants", broken);
      const variants = all.flatMap((value) => readVariant(value) ?? []).sort((a, b) => a.made - b.made);
      if (JSON.stringify(variants) !== JSON.stringify(this.bench.get().variants)) this.bench.set({ variants });
    } catch {
      // told of beside the job itself; what was kept since the page was loaded is still in hand
    }
  }

  /** Keeps a job under a name. */
  async keep(name: string, job: Json): Promise<void> {
    const variant: Variant = { id: crypto.randomUUID?.() ?? `${Date.now()}-${Math.random()}`, name, job, made: Date.now(), removed: false };
    this.bench.set({ variants: [...this.bench.get().variants, variant] });
    await this.#put(variant);
  }

  async setRemoved(id: string, removed: boolean): Promise<void> {
    const variant = this.bench.get().variants.find((candidate) => candidate.id === id);
    if (variant === undefined) return;
    const changed = { ...variant, removed };
    this.#replace(({ variants }) => variants.map((candidate) => (candidate.id === id ? changed : candidate)));
    await this.#put(changed);
  }

  /** For good. */
  async letGo(id: string): Promise<void> {
    this.#replace(({ variants }) => variants.filter((candidate) => candidate.id !== id));
    await this.shelf.remove("variants", id).catch((error: unknown) => this.#tell(error));
  }

  #replace(change: (bench: Bench) => readonly Variant[]): void {
    this.bench.set({ variants: change(this.bench.get()) });
  }

  async #put(variant: Variant): Promise<void> {
    await this.shelf.put("variants", { ...{ format: FORMAT }, ...variant }).catch((error: unknown) => this.#tell(error));
  }

  #tell(error: unknown): void {
    const why = error instanceof Error ? error.message : String(error);
    this.bench.set({ notice: { tone: "fault", text: `The variants are not kept in the browser: ${why}. They stand until this tab is closed; save them as files.` } });
  }
}

function readVariant(value: unknown): Variant | undefined {
  if (typeof value !== "object" || value === null || !("format" in value) || value.format !== FORMAT) return undefined;
  const { id, name, job, made, removed } = value as { [key in keyof Variant]?: unknown };
  const read = asJob(job);
  if (typeof id !== "string" || typeof name !== "string" || typeof made !== "number" || typeof removed !== "boolean" || "why" in read) return undefined;
  return { id, name: name.slice(0, LONGEST_NAME), job: read.job, made, removed };
}
