// The page's side of the worker. Of several jobs the latest wins; a core that fails or hangs is put away, a new one
// started, and given the last good job and then the one it was busy with.
import type { Json } from "../state/json.ts";
import type { Built, ClearanceList, FromWorker, Held, HeldTold, JointFinding, ListChanges, PartMesh, PartSummary, Reply, Request, ToWorker, Violation } from "./protocol.ts";

/** What the client needs of a worker; a test can stand in for it. */
export interface Thread {
  postMessage(message: ToWorker): void;
  terminate(): void;
  onmessage: ((event: { data: FromWorker }) => void) | null;
  onerror: ((event: { message?: string }) => void) | null;
}

export interface Listener {
  /** The worker runs, whatever the page does from now on. */
  awake(): void;
  /** The core is loaded and busy with a job. */
  building(): void;
  /** With the job that was asked for, as it was given. */
  built(built: Built, asked: Json): void;
  refused(violations: Violation[], asked: Json): void;
  meshes(chordMm: number, meshes: PartMesh[]): void;
  measured(measures: PartSummary[]): void;
  joints(joints: JointFinding[]): void;
  /**
   * The core failed with `message`. `again`: a new one is started and gets the job once more. `back`: it failed on the same
   * job twice, and the last good job stands. `over`: it fails whatever it is given.
   */
  failed(message: string, then: "again" | "back" | "over"): void;
}

/** No job takes a hundredth of this; whoever waits longer waits for nothing. */
const PATIENCE_MS = 20_000;

type Answer = Exclude<Reply, { kind: "built" | "refused" | "failed" }>;
type Question = Exclude<Request, { kind: "build" }>;
type Asked = { resolve: (reply: Answer) => void; reject: (error: Error) => void; request: Question };

export class Client {
  #thread: Thread | undefined;
  /** The core has been loaded and answers. */
  #up = false;
  #lastId = 0;
  #asked = new Map<number, Asked>();
  #busy: { id: number; job: Json; restoring: boolean } | undefined;
  /** Last good job, owed to a new core before anything else. */
  #restore: Json | undefined;
  /** Job that follows the one the core is busy with. */
  #next: Json | undefined;
  #good: Json | undefined;
  /** Job that was wanted when the core failed last. */
  #suspect: Json | undefined;
  #failures = 0;
  /** The list as the core told it last: what it tells next may be only what has changed of it. */
  #list: ClearanceList | undefined;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly start: () => Thread,
    private readonly listener: Listener,
    private readonly patienceMs = PATIENCE_MS,
  ) {
    this.#open();
  }

  /** Builds a job; one that is already waiting is dropped for it. */
  build(job: Json): void {
    this.#next = job;
    this.#advance();
  }

  /** Asks for anything but a build. Rejects with the core's own words if it cannot be done. */
  ask(request: Question): Promise<Answer> {
    return new Promise((resolve, reject) => {
      const id = ++this.#lastId;
      this.#asked.set(id, { resolve, reject, request });
      this.#post({ ...request, id });
    });
  }

  /** A new core after the client has given up, for whoever wants to try once more. */
  restart(): void {
    if (this.#thread !== undefined) return;
    this.#failures = 0;
    this.#suspect = undefined;
    this.#restore = this.#good;
    this.#open();
  }

  /** Ends the core for good; what was asked of it is not answered any more. */
  end(): void {
    clearTimeout(this.#timer);
    this.#thread?.terminate();
    this.#thread = undefined;
    for (const { reject } of this.#asked.values()) reject(new Error("it was stopped"));
    this.#asked.clear();
  }

  #open(): void {
    const thread = this.start();
    this.#thread = thread;
    thread.onmessage = ({ data }) => {
      if (thread === this.#thread) this.#hear(data);
    };
    thread.onerror = (event) => {
      if (thread === this.#thread) this.#fail(event.message ?? "the worker could not be started");
    };
    for (const [id, { request }] of this.#asked) this.#post({ ...request, id });
    this.#advance();
    this.#watch();
  }

  #post(message: ToWorker): void {
    this.#thread?.postMessage(message);
    this.#watch();
  }

  /** The clock runs while an answer is owed. */
  #watch(): void {
    clearTimeout(this.#timer);
    if (this.#thread !== undefined && (!this.#up || this.#busy !== undefined || this.#asked.size > 0)) {
      this.#timer = setTimeout(() => this.#fail("it gave no answer"), this.patienceMs);
    }
  }

  #advance(): void {
    if (this.#thread === undefined || this.#busy !== undefined) return;
    const restoring = this.#restore !== undefined;
    const job = this.#restore ?? this.#next;
    if (job === undefined) return;
    if (restoring) this.#restore = undefined;
    else this.#next = undefined;
    const id = ++this.#lastId;
    this.#busy = { id, job, restoring };
    if (this.#up) this.listener.building();
    this.#post({ kind: "build", job, id });
  }

  #hear(message: FromWorker): void {
    switch (message.kind) {
      case "awake":
        this.listener.awake();
        break;
      case "ready":
        this.#up = true;
        if (this.#busy !== undefined) this.listener.building();
        break;
      case "trap":
        return this.#fail(message.message);
      case "meshes":
        this.listener.meshes(message.chordMm, message.meshes);
        break;
      case "measured":
        this.listener.measured(message.measures);
        break;
      case "joints":
        this.listener.joints(message.joints);
        break;
      case "built":
      case "refused":
        this.#finish(message);
        break;
      case "failed":
        // a build answers with violations; whatever else it throws is a fault of the core
        if (this.#busy?.id === message.id) return this.#fail(message.message);
        this.#asked.get(message.id)?.reject(new Error(message.message));
        this.#asked.delete(message.id);
        break;
      case "placed":
        this.#asked.get(message.id)?.resolve({ ...message, held: message.held === undefined ? undefined : this.#held(message.held) });
        this.#asked.delete(message.id);
        break;
      default:
        this.#asked.get(message.id)?.resolve(message);
        this.#asked.delete(message.id);
    }
    this.#watch();
  }

  #held(told: HeldTold): Held {
    const { changes, clearances, ...rest } = { changes: undefined, clearances: undefined, ...told };
    const list = clearances ?? (changes === undefined || this.#list === undefined ? undefined : withChanges(this.#list, JSON.parse(changes) as ListChanges));
    if (list === undefined) throw new Error("the core told changes of a list that it had not told");
    this.#list = list;
    return { ...rest, clearances: list };
  }

  #finish(reply: Extract<FromWorker, { kind: "built" | "refused" }>): void {
    const busy = this.#busy;
    if (busy?.id !== reply.id) return;
    this.#busy = undefined;
    if (!busy.restoring || this.#next === undefined) {
      this.#failures = 0;
      this.#suspect = undefined;
    }
    if (reply.kind === "built") {
      this.#good = busy.job;
      this.#list = reply.clearances;
      this.listener.built(reply, busy.job);
    } else {
      this.listener.refused(reply.violations, busy.job);
    }
    this.#advance();
  }

  #fail(message: string): void {
    clearTimeout(this.#timer);
    this.#thread?.terminate();
    this.#thread = undefined;
    this.#up = false;
    this.#failures += 1;
    for (const [id, { request, reject }] of this.#asked) {
      // what only reads is asked again; a file may itself have been the cause
      if (request.kind === "schema") continue;
      reject(new Error(`the calculation stopped: ${message}`));
      this.#asked.delete(id);
    }

    const busy = this.#busy;
    this.#busy = undefined;
    const wanted = this.#next ?? (busy?.restoring === false ? busy.job : undefined);
    const twice = wanted !== undefined && wanted === this.#suspect;
    this.#suspect = wanted;
    const hopeless = this.#failures > 3 || busy?.restoring === true || (this.#good === undefined && this.#failures > 1);
    this.#restore = this.#good;
    this.#next = twice || wanted === this.#good ? undefined : wanted;
    if (hopeless) {
      this.listener.failed(message, "over");
      return;
    }
    this.listener.failed(message, twice ? "back" : "again");
    this.#open();
  }
}

/** A list with some of its rows exchanged; the others are the same objects as before. */
export function withChanges(list: ClearanceList, { pairs, failed, turned, turned_failed }: ListChanges): ClearanceList {
  const exchanged = <Row>(rows: readonly Row[], changes: readonly (readonly [number, Row])[]): Row[] => {
    const all = [...rows];
    for (const [at, row] of changes) all[at] = row;
    return all;
  };
  const { neck_turned } = list;
  return {
    ...list,
    pairs: exchanged(list.pairs, pairs),
    failed,
    ...(neck_turned === undefined ? {} : { neck_turned: { ...neck_turned, pairs: exchanged(neck_turned.pairs, turned), failed: turned_failed } }),
  };
}

/** Asks one thing at a time. What is wanted meanwhile waits, and of it only the newest is asked. */
export class Newest<Wanted, Told> {
  #busy = false;
  #next: { wanted: Wanted } | undefined;
  /** The answer that is on its way is still of use. */
  #heeded = false;

  constructor(
    private readonly ask: (wanted: Wanted) => Promise<Told>,
    private readonly hear: (wanted: Wanted, told: Told) => void,
    /** It could not be answered, and nothing newer is wanted. */
    private readonly missed: () => void,
  ) {}

  want(wanted: Wanted): void {
    this.#next = { wanted };
    void this.#advance();
  }

  /** Nothing is wanted any more. */
  drop(): void {
    this.#next = undefined;
    this.#heeded = false;
  }

  async #advance(): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    while (this.#next !== undefined) {
      const { wanted } = this.#next;
      this.#next = undefined;
      this.#heeded = true;
      try {
        const told = await this.ask(wanted);
        // drop() may have been called meanwhile, which the compiler cannot see
        if (this.#heeded as boolean) this.hear(wanted, told);
      } catch {
        if ((this.#heeded as boolean) && (this.#next as unknown) === undefined) this.missed();
      }
    }
    this.#busy = false;
  }
}
