import { locale, t } from "../text";

const DAY = 86_400_000;
/** A day without a time: read as a moment it is midnight at Greenwich, the evening before in the west. */
const BARE_DAY = /^\d{4}-\d\d-\d\d$/;
let zone: string | undefined;

const FORMS = {
  date: { day: "numeric", month: "short", year: "numeric" },
  time: { hour: "2-digit", minute: "2-digit", hourCycle: "h23" },
  day: {},
  wall: { year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" },
} as const satisfies Record<string, Intl.DateTimeFormatOptions>;

/** Made once for each language and zone: making one takes a slow tablet as long as drawing a screen. */
const made = new Map<string, Intl.DateTimeFormat>();

function written(form: keyof typeof FORMS, tag: string, ms: number, where = zone): string {
  const key = `${form} ${tag} ${where}`;
  let format = made.get(key);
  if (!format) {
    format = new Intl.DateTimeFormat(tag, { ...FORMS[form], timeZone: where });
    made.set(key, format);
  }
  return Number.isNaN(ms) ? "" : format.format(ms);
}

/** Show every time as the clock on the location's wall shows it; a zone unknown here changes nothing. */
export function showTimesIn(iana: string | null): void {
  try {
    zone = new Intl.DateTimeFormat("en", { timeZone: iana ?? undefined }).resolvedOptions().timeZone;
  } catch {
    zone = undefined;
  }
}

/** The day of a moment on the location's wall calendar; a bare day is shown as that day. */
export function dateText(moment: string | null | undefined): string {
  if (moment && BARE_DAY.test(moment)) return dayText(moment);
  return moment ? written("date", locale(), Date.parse(moment)) : "";
}

/** A day of the calendar ("YYYY-MM-DD") in words: the same everywhere, whatever the zone. */
export function dayText(day: string | null | undefined): string {
  return day ? written("date", locale(), Date.parse(`${day}T12:00:00Z`), "UTC") : "";
}

export function timeText(moment: string | null | undefined): string {
  return moment ? written("time", locale(), Date.parse(moment)) : "";
}

export function momentText(moment: string | null | undefined): string {
  return moment ? `${dateText(moment)}, ${timeText(moment)}` : "";
}

/** Whole calendar days between `moment` and `now_ms`, in the location's zone. */
export function ageDays(moment: string, now_ms: number): number {
  // The Swedish form of a date is the ISO one.
  const day = (ms: number) => Date.parse(written("day", "sv-SE", ms));
  return Math.round((day(now_ms) - day(Date.parse(moment))) / DAY);
}

/** How far the clock on the location's wall is ahead of Greenwich at a moment [min]. */
export function wallOffsetMinutes(ms: number): number {
  const wall = Date.parse(`${written("wall", "sv-SE", ms).replace(" ", "T")}Z`);
  return Math.round((wall - ms) / 60_000);
}

export function ageText(moment: string, now_ms: number): string {
  const days = ageDays(moment, now_ms);
  if (days < 0) return t.dose.ahead;
  return days === 0 ? t.dose.today : days === 1 ? t.dose.yesterday : t.dose.days(days);
}
