// The page's side of a core beside the bench's own. It is loaded when something is first asked of it, answers each question
// once, can be stopped in the middle of one, and after a stop or a failure the next question starts a new one. Every question
// carries all that its answer depends on, so that a new core has nothing to be told again.

/** What can be asked, by its kind, and what is answered. */
export type Talk = Record<string, { ask: object; answer: object }>;

type Kind<T extends Talk> = keyof T & string;

export type ToSide<T extends Talk> = { [K in Kind<T>]: { id: number; kind: K; ask: T[K]["ask"] } }[Kind<T>];

export type FromSide =
  /** The core is loaded and answers. */
  | { kind: "ready" }
  | { kind: "answer"; id: number; answer: object }
  /** The question cannot be answered, and the core is as it was. */
  | { kind: "failed"; id: number; message: string }
  /** The core failed and its worker can do nothing more. */
  | { kind: "trap"; message: string };

/** What a `SideCore` needs of a worker; a test can stand in for it. */
export interface SideThread {
  postMessage(message: unknown): void;
  terminate(): void;
  onmessage: ((event: MessageEvent) => void) | null;
  onerror: ((event: ErrorEvent) => void) | null;
}

/** The maker has stopped it: no fault. */
export class Stopped extends Error {
  constructor() {
    super("it was stopped");
  }
}

/** `asleep`: nothing is loaded, or nothing any more. */
export type SideState = "asleep" | "loading" | "idle" | "working";

export class SideCore<T extends Talk> {
  #thread: SideThread | undefined;
  #up = false;
  #lastId = 0;
  readonly #asked = new Map<number, { resolve: (answer: object) => void; reject: (error: Error) => void }>();
  #state: SideState = "asleep";

  constructor(
    private readonly start: () => SideThread,
    /** Hears of every change of the core's state. */
    private readonly tell: (state: SideState) => void = () => {},
  ) {}

  get state(): SideState {
    return this.#state;
  }

  /** Rejects with the core's own words if there is no answer, with `Stopped` if it was stopped first. */
  ask<K extends Kind<T>>(kind: K, ask: T[K]["ask"]): Promise<T[K]["answer"]> {
    return new Promise((resolve, reject) => {
      const id = ++this.#lastId;
      this.#asked.set(id, { resolve, reject });
      this.#thread ??= this.#open();
      this.#thread.postMessage({ id, kind, ask });
      this.#look();
    });
  }

  /** Ends what is being worked on; the next question starts a new core. */
  stop(): void {
    this.#end(new Stopped());
  }

  #open(): SideThread {
    const thread = this.start();
    thread.onmessage = ({ data }) => {
      if (thread === this.#thread) this.#hear(data as FromSide);
    };
    thread.onerror = (event) => {
      if (thread !== this.#thread) return;
      event.preventDefault();
      this.#end(new Error(event.message || "its script could not be loaded"));
    };
    return thread;
  }

  #hear(message: FromSide): void {
    switch (message.kind) {
      case "ready":
        this.#up = true;
        break;
      case "trap":
        return this.#end(new Error(message.message));
      case "answer":
        this.#asked.get(message.id)?.resolve(message.answer);
        this.#asked.delete(message.id);
        break;
      case "failed":
        this.#asked.get(message.id)?.reject(new Error(message.message));
        this.#asked.delete(message.id);
    }
    this.#look();
  }

  #end(error: Error): void {
    this.#thread?.terminate();
    this.#thread = undefined;
    this.#up = false;
    const all = [...this.#asked.values()];
    this.#asked.clear();
    this.#look();
    for (const { reject } of all) reject(error);
  }

  #look(): void {
    const state = this.#thread === undefined ? "asleep" : !this.#up ? "loading" : this.#asked.size > 0 ? "working" : "idle";
    if (state === this.#state) return;
    this.#state = state;
    this.tell(state);
  }
}
