// Which tab a bench belongs to. The browser holds a lock for as long as the tab lives, and lets go of it however it ends.

/** Time for the page before a reload to be gone from its lock. */
const HANDING_OVER_MS = 500;

const address = () => new URL(".", location.href).pathname;
const lockName = (bench: string) => `neckwright ${address()} ${bench}`;

/** Whether other tabs can be told apart from ones that are closed; only in pages that came by a safe way. */
export const canTell = (): boolean => "locks" in navigator;

/** Takes a bench for this tab; false if another tab has it. */
export async function take(bench: string, mayWait: boolean): Promise<boolean> {
  return new Promise((resolve) => {
    const options: LockOptions = mayWait ? { signal: AbortSignal.timeout(HANDING_OVER_MS) } : { ifAvailable: true };
    navigator.locks
      .request(lockName(bench), options, (lock) => {
        resolve(lock !== null);
        // held until the tab goes
        return lock === null ? undefined : new Promise<never>(() => undefined);
      })
      .catch(() => resolve(false));
  });
}

/** Which of some benches no tab has. */
export async function free(benches: readonly string[]): Promise<Set<string>> {
  const { held = [] } = await navigator.locks.query();
  const names = new Set(held.map(({ name }) => name));
  return new Set(benches.filter((bench) => !names.has(lockName(bench))));
}

const REMEMBERED = () => `neckwright-bench ${address()}`;

/** The bench this tab had before it was loaded again. */
export function remembered(): string | undefined {
  try {
    return sessionStorage.getItem(REMEMBERED()) ?? undefined;
  } catch {
    return undefined;
  }
}

export function remember(bench: string): void {
  try {
    sessionStorage.setItem(REMEMBERED(), bench);
  } catch {
    // then a reload finds its bench as a return visit does
  }
}

interface Opened {
  kind: "opened" | "here-too";
  from: string;
  to?: string;
  job: string;
}

/** Tells the other tabs of the jobs this one opens, and hears of theirs. */
export class Neighbours {
  readonly #channel = "BroadcastChannel" in globalThis ? new BroadcastChannel(`neckwright ${address()}`) : undefined;
  readonly #self = crypto.randomUUID === undefined ? String(Math.random()) : crypto.randomUUID();

  constructor(
    /** The job that lies here, by a name that is the same in every tab. */
    private readonly here: () => string | undefined,
    private readonly same: (who: "other" | "self") => void,
  ) {
    this.#channel?.addEventListener("message", ({ data }: MessageEvent<Opened>) => {
      if (data.job !== this.here()) return;
      if (data.kind === "opened") {
        this.same("other");
        this.#say({ kind: "here-too", from: this.#self, to: data.from, job: data.job });
      } else if (data.to === this.#self) this.same("self");
    });
  }

  opened(job: string): void {
    this.#say({ kind: "opened", from: this.#self, job });
  }

  #say(message: Opened): void {
    this.#channel?.postMessage(message);
  }
}
