// The browser's own store, where what the maker does is kept. Each address of the page has a shelf of its own.

export type Tray = "benches" | "variants" | "broken";

const TRAYS: readonly Tray[] = ["benches", "variants", "broken"];
const VERSION = 1;

/** Whoever waits longer for the store waits for nothing. */
const PATIENCE_MS = 1500;

/** Why something was not kept, in words; `full` when there would be room for less. */
export class NotKept extends Error {
  constructor(
    message: string,
    readonly full: boolean,
  ) {
    super(message);
  }
}

function inWords(error: unknown): NotKept {
  const name = error instanceof DOMException || error instanceof Error ? error.name : "";
  if (name === "QuotaExceededError") return new NotKept("the browser's storage is full", true);
  if (error instanceof NotKept) return error;
  return new NotKept("the browser lets this page keep nothing (a private window, or storage is switched off)", false);
}

export class Shelf {
  #database: IDBDatabase | undefined;

  /** Opens the store; throws `NotKept` where the browser has none for this page. */
  async open(): Promise<void> {
    try {
      this.#database = await new Promise<IDBDatabase>((resolve, reject) => {
        const asked = indexedDB.open(`neckwright ${new URL(".", location.href).pathname}`, VERSION);
        asked.onupgradeneeded = () => {
          for (const tray of TRAYS) if (!asked.result.objectStoreNames.contains(tray)) asked.result.createObjectStore(tray, { keyPath: "id" });
        };
        asked.onsuccess = () => resolve(asked.result);
        asked.onerror = () => reject(asked.error ?? new Error());
        asked.onblocked = () => reject(new NotKept("an older version of this page is open in another tab", false));
        setTimeout(() => reject(new NotKept("the browser's storage does not answer", false)), PATIENCE_MS);
      });
    } catch (error) {
      throw inWords(error);
    }
    const database = this.#database;
    // a newer version of the page in another tab must not wait for this one
    database.onversionchange = () => this.#close(database);
    database.onclose = () => this.#close(database);
  }

  #close(database: IDBDatabase): void {
    database.close();
    if (this.#database === database) this.#database = undefined;
  }

  /** Everything in a tray, unread. */
  async all(tray: Tray): Promise<unknown[]> {
    return this.#within(tray, "readonly", (store) => store.getAll());
  }

  /** Puts a record, whatever lies there. Done with its call: the page may go away in the same turn. */
  async put(tray: Tray, record: { id: string }): Promise<void> {
    await this.#within(tray, "readwrite", (store) => {
      const asked = store.put(record);
      store.transaction.commit();
      return asked;
    });
  }

  async remove(tray: Tray, id: string): Promise<void> {
    await this.#within(tray, "readwrite", (store) => {
      const asked = store.delete(id);
      store.transaction.commit();
      return asked;
    });
  }

  /**
   * Puts a record where one lies that `mine` knows, or none; says whether it did. Looking and putting are one transaction:
   * no other tab comes between.
   */
  async putOver(tray: Tray, record: { id: string }, mine: (there: unknown) => boolean): Promise<boolean> {
    let put = false;
    await this.#within(tray, "readwrite", (store, fail) => {
      const asked = store.get(record.id);
      asked.onsuccess = () => {
        put = asked.result === undefined || mine(asked.result);
        if (!put) return;
        try {
          store.put(record);
          // not left to the end of the turn: the page may be going away
          store.transaction.commit();
        } catch (error) {
          fail(error);
        }
      };
      return asked;
    });
    return put;
  }

  async #within<T>(tray: Tray, mode: IDBTransactionMode, work: (store: IDBObjectStore, fail: (error: unknown) => void) => IDBRequest<T>): Promise<T> {
    try {
      if (this.#database === undefined) await this.open();
      const database = this.#database;
      if (database === undefined) throw new NotKept("the browser's storage was closed", false);
      return await new Promise<T>((resolve, reject) => {
        // "strict": what is told to be kept is on the disk, and not only on its way there
        const transaction = database.transaction(tray, mode, { durability: "strict" });
        const asked = work(transaction.objectStore(tray), (error) => {
          reject(error);
          transaction.abort();
        });
        transaction.oncomplete = () => resolve(asked.result);
        transaction.onabort = () => reject(transaction.error ?? new Error());
      });
    } catch (error) {
      throw inWords(error);
    }
  }
}
