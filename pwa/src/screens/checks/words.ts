/** What of a check is said in one line. */
import type { DeviceCheck } from "../../session/device-checks";
import { house } from "../../session/house";
import { t } from "../../text";
import type { BoardWords } from "../lists/board";

/** What the three answers of a list about a laser are called. */
export const checkBoardWords = (): BoardWords => ({ answers: t.checks.answers, reason: t.checks.reasonFailed, counts: t.checks.counts });

export const initials = (person_id: string | null): string =>
  [...house.value.people, ...house.value.left].find((one) => one.person_id === person_id)?.initials ?? "";

/** The items that failed, each with what was said of it. */
export function failedText(check: DeviceCheck): string {
  const said = check.failed.flatMap((item_id) => {
    const answer = check.answers.find((one) => one.item_id === item_id);
    return answer ? [answer.note ? `${answer.text} (${answer.note})` : answer.text] : [];
  });
  return said.join("; ") || check.flags.flatMap((flag) => t.checks.flags[flag] ?? []).join(" ") || check.note || t.checks.failed;
}
