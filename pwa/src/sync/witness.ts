/** The tablet as witness: with each pull it says what it worked out of the log, and it raises the alarm where that is not the server's. */
import { chain } from "../store/documents";
import { LogChanged } from "./chain";
import { readJson, type Refused } from "./client";
import { askAsTabletRenewing } from "./token";

/** How far this tablet has followed the log, and to which link; nothing before the first page. */
export async function seen(): Promise<Record<string, string>> {
  const known = await chain();
  return known === null || known.position === 0 ? {} : { seen_position: String(known.position), seen_link: known.link };
}

/** Let the server hear of it, and so the people at its desks; it comes again with every try until somebody answers. */
export async function raiseAlarm(problem: LogChanged | Refused): Promise<void> {
  try {
    await readJson(await askAsTabletRenewing("sync/alarm", { body: await alarmOf(problem) }));
  } catch {
    // The notice on this tablet stands in any case, and the next try tells it once more.
  }
}

async function alarmOf(problem: LogChanged | Refused): Promise<object> {
  if (problem instanceof LogChanged) return { position: problem.position, expected: short(problem.expected), found: short(problem.found) };
  const known = await chain();
  const end = typeof problem.facts.position === "number" ? problem.facts.position : 0;
  return { position: end, expected: `position ${known?.position ?? 0}`, found: `position ${end}` };
}

const short = (text: string): string => text.slice(0, 200) || "nothing";
