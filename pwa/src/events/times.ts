/** Times as data carries them: RFC 3339 with milliseconds and offset, `+00:00` and never `Z`. */

import { surroundings } from "./surroundings";

const two = (value: number): string => String(value).padStart(2, "0");

/** Write a moment [ms since 1970] as seen `offsetMinutes` ahead of UTC. */
export function rfc3339(milliseconds: number, offsetMinutes: number): string {
  const local = new Date(milliseconds + offsetMinutes * 60_000).toISOString().slice(0, -1);
  const size = Math.abs(offsetMinutes);
  return `${local}${offsetMinutes < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

/** The present moment in the tablet's zone. */
export function nowText(): string {
  const { now, offsetMinutes } = surroundings();
  const moment = now();
  return rfc3339(moment, offsetMinutes(moment));
}

/** Milliseconds since 1970 of a time that states its offset; throws for anything else. */
export function parseTime(text: string): number {
  const moment = Date.parse(text);
  if (Number.isNaN(moment) || !/(Z|[+-]\d\d:\d\d)$/.test(text)) throw new TypeError(`not a time with offset: ${text}`);
  return moment;
}
