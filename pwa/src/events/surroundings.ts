/** What a browser supplies from outside: time, randomness, network and locks, so that tests can pass their own. */

export type Bytes = Uint8Array<ArrayBuffer>;

export interface Surroundings {
  /** The tablet's clock [ms since 1970]. */
  now(): number;
  /** Milliseconds since some moment; setting the clock does not move it. */
  elapsed(): number;
  random(count: number): Bytes;
  /** A number in [0, 1), for jitter only. */
  fraction(): number;
  fetch(path: string, init: RequestInit): Promise<Response>;
  locks(): Pick<LockManager, "request">;
  /** IANA name of the tablet's zone. */
  zone(): string;
  /** Minutes that local time is ahead of UTC at that moment. */
  offsetMinutes(milliseconds: number): number;
}

const browser: Surroundings = {
  now: () => Date.now(),
  elapsed: () => performance.now(),
  random: (count) => crypto.getRandomValues(new Uint8Array(count)),
  fraction: () => Math.random(),
  fetch: (path, init) => fetch(path, init),
  locks: () => navigator.locks,
  zone: () => Intl.DateTimeFormat().resolvedOptions().timeZone,
  offsetMinutes: (milliseconds) => -new Date(milliseconds).getTimezoneOffset(),
};

let current: Surroundings = browser;

/** The surroundings in force. */
export function surroundings(): Surroundings {
  return current;
}

/** Replace some of the surroundings (tests); what is not named falls back to the browser's. */
export function setSurroundings(replaced: Partial<Surroundings>): void {
  current = { ...browser, ...replaced };
}
