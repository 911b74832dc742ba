/** Identifiers: UUID version 7 (RFC 9562), so that they sort by the time they were made. */

import { hex } from "./bytes";
import { surroundings, type Bytes } from "./surroundings";

/** A UUIDv7 for the moment `milliseconds` since 1970; `random` is ten bytes. */
export function uuid7(milliseconds: number, random: Bytes): string {
  const bytes = new Uint8Array(16);
  let rest = milliseconds;
  for (let at = 5; at >= 0; at -= 1) {
    bytes[at] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes.set(random.subarray(0, 10), 6);
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x70;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const digits = hex(bytes);
  return [
    digits.slice(0, 8), digits.slice(8, 12), digits.slice(12, 16), digits.slice(16, 20), digits.slice(20),
  ].join("-");
}

/** A new id from the tablet's clock and randomness. */
export function newId(): string {
  return uuid7(surroundings().now(), surroundings().random(10));
}
