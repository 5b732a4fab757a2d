// A value that tells its listeners when it was replaced.

export interface Store<T> {
  get(): T;
  /** Replaces some of the fields and tells every listener. */
  set(change: Partial<T>): void;
  /** Calls back with the value now and the one the listeners saw before; returns how to stop. */
  subscribe(listener: (now: T, before: T) => void): () => void;
}

export function createStore<T extends object>(first: T): Store<T> {
  let value = first;
  let told = first;
  let telling = false;
  const listeners = new Set<(now: T, before: T) => void>();

  /** A listener may set in turn: the others then see the newest value once more, and never an older one after it. */
  const tell = () => {
    if (telling) return;
    telling = true;
    try {
      while (told !== value) {
        const before = told;
        told = value;
        for (const listener of [...listeners]) listener(told, before);
      }
    } finally {
      telling = false;
    }
  };

  return {
    get: () => value,
    set(change) {
      value = { ...value, ...change };
      tell();
    },
    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}
