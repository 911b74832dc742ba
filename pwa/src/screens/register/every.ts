import type { DueRule } from "../../session/due";
import { t } from "../../text";

/** "every 7 days", "every month". */
export const everyText = ({ every_days, every_months }: DueRule): string =>
  (every_days !== null ? t.registers.due.days(every_days) : t.registers.due.months(every_months ?? 0));
