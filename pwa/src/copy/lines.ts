/**
 * Lines that say for themselves whether they are whole: sixteen hex digits of the SHA-256 of the
 * JSON behind them. A kill in the middle of a write costs the line it tore, and no other.
 */

import { hex, sha256, utf8 } from "../events/bytes";

const DIGITS = 16;

export async function toLine(value: object): Promise<string> {
  const json = JSON.stringify(value);
  return `${await digest(json)} ${json}\n`;
}

/** What the whole lines of a text say, in order; torn ones are passed over. */
export async function fromLines(text: string): Promise<unknown[]> {
  const whole = await Promise.all(text.split("\n").map(async (line) => {
    const json = line.slice(DIGITS + 1);
    return json !== "" && line[DIGITS] === " " && (await digest(json)) === line.slice(0, DIGITS) ? json : null;
  }));
  return whole.filter((json) => json !== null).map((json) => JSON.parse(json) as unknown);
}

async function digest(json: string): Promise<string> {
  return hex(await sha256(utf8(json))).slice(0, DIGITS);
}
