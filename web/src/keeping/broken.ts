// Records that cannot be read: moved out of the way as they are, and shown to the maker until they are let go.
import type { BenchStore } from "../state/bench.ts";
import type { Shelf, Tray } from "./shelf.ts";

export class BrokenRecords {
  constructor(
    private readonly bench: BenchStore,
    private readonly shelf: Shelf,
  ) {}

  /** Moves records out of a tray. */
  async setAside(tray: Tray, records: readonly unknown[]): Promise<void> {
    for (const value of records) {
      const id = keyOf(value);
      if (id === undefined) continue;
      await this.shelf.put("broken", { id: `${tray} ${id} ${Date.now()}`, ...{ value } });
      await this.shelf.remove(tray, id);
    }
    const all = await this.shelf.all("broken");
    this.bench.set({ broken: all.flatMap((record) => (keyOf(record) === undefined ? [] : [{ id: keyOf(record) ?? "", text: textOf(record) }])) });
  }

  async letGo(id: string): Promise<void> {
    this.bench.set({ broken: this.bench.get().broken.filter((record) => record.id !== id) });
    await this.shelf.remove("broken", id);
  }
}

/** Every record has one: the store takes none without. */
function keyOf(value: unknown): string | undefined {
  return typeof value === "object" && value !== null && "id" in value && typeof value.id === "string" ? value.id : undefined;
}

function textOf(record: unknown): string {
  const value = typeof record === "object" && record !== null && "value" in record ? record.value : record;
  try {
    return JSON.stringify(value, null, 2) ?? "";
  } catch {
    return String(value);
  }
}
