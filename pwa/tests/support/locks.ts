/** Web Locks as the standard describes them, for one process: exclusive, in order, `ifAvailable`. */

type Held = (lock: Lock | null) => unknown;

export class Locks {
  private readonly tails = new Map<string, Promise<unknown>>();
  private readonly held = new Set<string>();

  request = (async (name: string, options: LockOptions, callback: Held): Promise<unknown> => {
    if (options.ifAvailable === true && this.held.has(name)) return callback(null);
    const before = this.tails.get(name) ?? Promise.resolve();
    this.held.add(name);
    const mine = before.then(() => callback({ name, mode: "exclusive" }));
    const tail = mine.then(() => undefined, () => undefined).then(() => {
      if (this.tails.get(name) === tail) {
        this.tails.delete(name);
        this.held.delete(name);
      }
    });
    this.tails.set(name, tail);
    return mine;
  }) as LockManager["request"];
}
