/** Days and spans as the screens about lists show them. */
import { t } from "../../text";

export { dayText } from "../../parts/dates";

/** How long something took or was late: rounded to what matters. */
export function spanText(seconds: number): string {
  if (seconds < 60) return t.lists.seconds(seconds);
  const minutes = Math.floor(seconds / 60);
  if (minutes < 60) return t.lists.minutes(minutes, seconds % 60);
  return t.lists.hours(Math.floor(minutes / 60), minutes % 60);
}

/** From the first answer of a list to its last [s]. */
export function tookSeconds(answers: readonly { answered_at: string }[]): number {
  const times = answers.map((one) => Date.parse(one.answered_at));
  return times.length === 0 ? 0 : Math.round((Math.max(...times) - Math.min(...times)) / 1000);
}
