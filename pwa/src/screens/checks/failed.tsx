import { Notice } from "../../parts/basics";
import type { DeviceCheck } from "../../session/device-checks";
import { t } from "../../text";
import { failedText } from "./words";

/** A failed check: what failed, what to do next, and what this program cannot do. */
export function FailedNotice({ check }: { check: DeviceCheck }) {
  return (
    <Notice shape="stop" id="check-failed" live>
      <p class="strong">{t.checks.failedTitle(t.checks.kinds[check.kind] ?? check.kind)}</p>
      <p>{failedText(check)}</p>
      <ol class="steps">{t.checks.next.map((step) => <li key={step}>{step}</li>)}</ol>
      <p class="small">{t.checks.cannotStop}</p>
    </Notice>
  );
}
