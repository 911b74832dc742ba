import { LOCALE, t } from "../text";

const DAY = 86_400_000;

export function dateText(moment: string | null | undefined): string {
  return moment ? new Date(moment).toLocaleDateString(LOCALE, { day: "numeric", month: "short", year: "numeric" }) : "";
}

export function timeText(moment: string | null | undefined): string {
  return moment ? new Date(moment).toLocaleTimeString(LOCALE, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" }) : "";
}

export function momentText(moment: string | null | undefined): string {
  return moment ? `${dateText(moment)}, ${timeText(moment)}` : "";
}

/** Whole calendar days between `moment` and `now_ms`, in the tablet's zone. */
export function ageDays(moment: string, now_ms: number): number {
  const start = (ms: number) => { const d = new Date(ms); return Date.UTC(d.getFullYear(), d.getMonth(), d.getDate()); };
  return Math.round((start(now_ms) - start(Date.parse(moment))) / DAY);
}

export function ageText(moment: string, now_ms: number): string {
  const days = ageDays(moment, now_ms);
  if (days < 0) return t.dose.ahead;
  return days === 0 ? t.dose.today : days === 1 ? t.dose.yesterday : t.dose.days(days);
}
