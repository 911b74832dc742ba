/** Web Locks as the standard describes them, for one process: exclusive, in order, `ifAvailable`. */

type Held = (lock: Lock | null) => unknown;

export class Locks {
  private readonly tails = new Map<string, Promise<unknown>>();
  private readonly held = new Set<string>();

  request = (async (name: string, options: LockOptions, callback: Held): Promise<unknown> => {
    if (options.ifAvailable === true && this.held.has(name)) return callback(null);
    const { signal } = options;
    const before = this.tails.get(name) ?? Promise.resolve();
    this.held.add(name);
    // Given up while it waits, it is not called at all; once granted, nothing takes it away.
    const turn = before.then(() => { signal?.throwIfAborted(); return callback({ name, mode: "exclusive" }); });
    const mine = signal == null ? turn : Promise.race([turn, refused(signal)]);
    const tail = turn.then(() => undefined, () => undefined).then(() => {
      if (this.tails.get(name) === tail) {
        this.tails.delete(name);
        this.held.delete(name);
      }
    });
    this.tails.set(name, tail);
    return mine;
  }) as LockManager["request"];
}

/** Rejects when a request is given up. */
function refused(signal: AbortSignal): Promise<never> {
  return new Promise((_, reject) => {
    if (signal.aborted) reject(signal.reason as Error);
    signal.addEventListener("abort", () => reject(signal.reason as Error));
  });
}
