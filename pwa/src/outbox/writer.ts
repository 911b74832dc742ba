/** The one tab that writes: whoever holds the Web Lock `writer` until it is closed. */

import { surroundings } from "../events/surroundings";

let holding = false;

/** Try to become the writing tab, at the start of a page. */
export function claimWriter(): Promise<"writer" | "reader"> {
  if (holding) return Promise.resolve("writer");
  return new Promise((resolve, reject) => {
    surroundings().locks().request("writer", { ifAvailable: true }, (lock) => {
      holding = lock !== null;
      resolve(holding ? "writer" : "reader");
      // Held until the tab is closed or crashes: the promise never settles.
      return lock === null ? undefined : new Promise<never>(() => undefined);
    }).then(undefined, (problem: unknown) => {
      holding = false;
      reject(problem instanceof Error ? problem : new Error(String(problem)));
    });
  });
}

/**
 * Wait in a reading tab until it writes: as soon as the writing one is closed or has crashed, and
 * only while this tab is looked at, so that none that is hidden takes the pen from the one in
 * somebody's hand. `prepare` runs before anything can be written here.
 */
export function takeOver(prepare: () => Promise<void>): Promise<void> {
  return new Promise((resolve) => {
    const page = globalThis.document as Document | undefined;
    let asking: AbortController | null = null;
    let granted = false;
    const look = (): void => {
      if (granted) return;
      if (page?.visibilityState === "hidden") {
        asking?.abort();
        asking = null;
      } else if (asking === null) ask(asking = new AbortController());
    };
    const ask = (mine: AbortController): void => {
      surroundings().locks().request("writer", { signal: mine.signal }, async () => {
        granted = true;
        page?.removeEventListener("visibilitychange", look);
        await prepare().catch(() => undefined);
        holding = true;
        resolve();
        return new Promise<never>(() => undefined);
      }).catch(() => {
        // Hidden in the meantime, or a browser that grants no locks: asked again when it is looked at.
        if (asking === mine) asking = null;
      });
    };
    page?.addEventListener("visibilitychange", look);
    look();
  });
}

export function isWriter(): boolean {
  return holding;
}

/** Forget that this tab holds the lock (tests, where a tab is only pretended to crash). */
export function forgetWriter(): void {
  holding = false;
}
