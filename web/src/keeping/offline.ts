// The page without a network: has it fetched once, and asks the maker when there is a newer one.
import { type BenchStore, settle } from "../state/bench.ts";

/** How often the host is asked for a newer page, at most, when the maker comes back to this one. */
const ASK_AGAIN_MS = 3_600_000;

export class Offline {
  #registration: ServiceWorkerRegistration | undefined;
  #asked = Date.now();
  /** The maker has said so, here. */
  #taking = false;

  constructor(private readonly bench: BenchStore) {}

  /** To be called when the first neck stands: fetching everything once more must not hold it up. */
  async begin(): Promise<void> {
    // only on pages that came by a safe way
    if (!("serviceWorker" in navigator)) return;
    const { serviceWorker } = navigator;
    const first = serviceWorker.controller === null;
    serviceWorker.addEventListener("controllerchange", () => {
      if (this.#taking) location.reload();
      else if (!first) this.bench.set({ notice: { tone: "plain", text: "A new version of the page was taken in another tab. This tab goes on with the one it has; load it again when it suits you." } });
    });
    try {
      const registration = await serviceWorker.register(new URL("offline.js", location.href), { updateViaCache: "none" });
      this.#registration = registration;
      this.#look();
      registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", () => this.#look()));
      registration.installing?.addEventListener("statechange", () => this.#look());
    } catch {
      // then the page needs its host, as any page does
    }
    document.addEventListener("visibilitychange", () => {
      if (document.hidden || Date.now() - this.#asked < ASK_AGAIN_MS) return;
      this.#asked = Date.now();
      void this.#registration?.update().catch(() => undefined);
    });
  }

  #look(): void {
    const registration = this.#registration;
    this.bench.set({ offline: registration?.active ? true : false, newer: registration?.active != null && registration.waiting !== null });
  }

  /** Puts the newer page in the place of this one; the job is kept first. */
  takeNewer(): void {
    settle(this.bench);
    this.#taking = true;
    this.#registration?.waiting?.postMessage("take over");
  }
}
