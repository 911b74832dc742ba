/** The one tab that writes: whoever holds the Web Lock `writer` until it is closed. */

import { surroundings } from "../events/surroundings";

let holding = false;

/** Try to become the writing tab. A reader may ask again after the other tab is gone. */
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

export function isWriter(): boolean {
  return holding;
}

/** Forget that this tab holds the lock (tests, where a tab is only pretended to crash). */
export function forgetWriter(): void {
  holding = false;
}
