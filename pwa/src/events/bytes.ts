/** Bytes and texts: hex, base64url without padding, UTF-8, SHA-256. */

import type { Bytes } from "./surroundings";

export function utf8(text: string): Bytes {
  return new TextEncoder().encode(text) as Bytes;
}

export function text(bytes: BufferSource): string {
  return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
}

export function hex(bytes: Uint8Array): string {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export function fromHex(digits: string): Bytes {
  if (digits.length % 2 !== 0 || !/^[0-9a-f]*$/.test(digits)) throw new TypeError("not lower-case hex");
  const bytes = new Uint8Array(digits.length / 2);
  for (let at = 0; at < bytes.length; at += 1) bytes[at] = parseInt(digits.slice(2 * at, 2 * at + 2), 16);
  return bytes;
}

export function base64url(bytes: Uint8Array): string {
  let binary = "";
  for (const byte of bytes) binary += String.fromCharCode(byte);
  return btoa(binary).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

export function fromBase64url(letters: string): Bytes {
  const binary = atob(letters.replaceAll("-", "+").replaceAll("_", "/"));
  return Uint8Array.from(binary, (letter) => letter.charCodeAt(0));
}

export function concat(...parts: Uint8Array[]): Bytes {
  const joined = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    joined.set(part, at);
    at += part.length;
  }
  return joined;
}

export async function sha256(bytes: Bytes): Promise<Bytes> {
  return new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
}
