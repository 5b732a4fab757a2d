// Work of a thread that has to wait for another in between: one piece after the other, each to its end, in the order it came.

export class Turns {
  readonly #waiting: (() => Promise<void>)[] = [];
  #busy = false;

  /** Does the work when all that came before is done. It must not throw. */
  add(work: () => Promise<void>): void {
    this.#waiting.push(work);
    if (!this.#busy) void this.#go();
  }

  async #go(): Promise<void> {
    this.#busy = true;
    for (let work = this.#waiting.shift(); work !== undefined; work = this.#waiting.shift()) {
      await work();
    }
    this.#busy = false;
  }
}

/** Lets messages in that have come meanwhile. Quicker than a timer, which a browser holds back. */
export function turn(): Promise<void> {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      port1.close();
      resolve();
    };
    port2.postMessage(undefined);
  });
}
