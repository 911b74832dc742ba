import { useSignal } from "@preact/signals";
import { Mark, Press } from "../../parts/basics";
import { momentText, timeText } from "../../parts/dates";
import { More } from "../../parts/dose";
import type { DeviceCheck } from "../../session/device-checks";
import { personName } from "../../session/house";
import { t } from "../../text";

const AT_FIRST = 20;

/** All checks of one laser as they were made, the newest first. */
export function History({ checks }: { checks: readonly DeviceCheck[] }) {
  const shown = useSignal(AT_FIRST);
  const rest = checks.length - shown.value;
  return (
    <section class="stack">
      <h2>{t.checks.history}</h2>
      {checks.length === 0 ? <p class="soft">{t.checks.notMade}</p> : null}
      <ul class="list">{checks.slice(0, shown.value).map((check) => <Check key={check.event_id} check={check} />)}</ul>
      {rest > 0 ? <Press id="checks-more" onPress={() => { shown.value += 100; }}>{t.checks.more(Math.min(rest, 100))}</Press> : null}
    </section>
  );
}

function Check({ check }: { check: DeviceCheck }) {
  const w = t.checks;
  const failed = new Set(check.failed);
  const odd = check.answers.filter((one) => one.answer !== "yes" || failed.has(one.item_id));
  return (
    <li class="sheet" data-testid="device-check">
      <p class="row"><Mark shape={check.verdict === "passed" ? "done" : "stop"} id="device-check-verdict">{check.verdict === "passed" ? w.passed : w.failed}</Mark>
        <span class="strong">{w.kinds[check.kind] ?? check.kind}</span></p>
      <p class="small">{momentText(check.done_at)}{personName(check.checked_by) ? `, ${personName(check.checked_by)}` : ""}, {check.late ? null : w.inTime}
        {check.late ? <Mark shape="warn" id="device-check-late">{w.late(momentText(check.written_at))}</Mark> : null}</p>
      {odd.map((one) => <p key={one.item_id} class="small" data-testid="device-check-odd">{one.text}: <strong>{w.answers[one.answer] ?? one.answer}</strong>{one.note ? `. ${one.note}` : ""}</p>)}
      {check.flags.map((flag) => <Mark key={flag} shape="warn">{w.flags[flag] ?? flag}</Mark>)}
      {check.note ? <p class="small">{check.note}</p> : null}
      {check.received_at === null ? <Mark shape="tablet">{w.waits}</Mark> : null}
      <More id={`device-check-more-${check.device_check_id}`} title={t.lists.showAnswers}>
        <p class="small soft">{check.title}, {t.lists.version(check.list_version).toLowerCase()}</p>
        <ul class="list">{check.answers.map((one) => (
          <li key={one.item_id} class="item"><span class="grow small"><span>{one.text}</span>
            <span class="soft">{w.answers[one.answer] ?? one.answer}, {timeText(one.answered_at)}{personName(one.by) ? `, ${personName(one.by)}` : ""}{one.note ? `. ${one.note}` : ""}</span></span></li>
        ))}</ul>
      </More>
    </li>
  );
}
