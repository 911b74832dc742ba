import { Mark } from "../parts/basics";
import { t } from "../text";

/** A check's verdict as word and shape, the same wherever one is shown. */
export function VerdictMark({ verdict, id }: { verdict: string; id?: string }) {
  const shape = verdict === "ok" ? "done" : verdict === "warn" ? "warn" : "stop";
  return <Mark shape={shape} {...(id ? { id } : {})}>{t.today.verdict[verdict] ?? verdict}</Mark>;
}
