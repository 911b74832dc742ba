import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Notice, Press } from "../../parts/basics";
import { atWork } from "../../session/atwork";
import { writing } from "../../session/state";
import { elapsed, holdTimer, keep, kept, running, startTimer } from "../../session/timer";
import { localNumbers, t } from "../../text";

/**
 * Timing goes on while the tablet is locked: nobody at the field waits for a PIN. Only which pass
 * of the open case it is can be seen; what was timed is kept until somebody signs in.
 */
export function LockTimer() {
  const timer = running.value;
  const last = atWork.value.last;
  const ticking = timer !== null && timer.stopped_ms === null;
  const now = useSignal(Date.now());
  useEffect(() => {
    if (!ticking) return;
    const beat = setInterval(() => { now.value = Date.now(); }, 200);
    return () => clearInterval(beat);
  }, [ticking]);
  const place = timer ?? (last && atWork.value.open.includes(last.record_id) ? last : null);
  if (!place) return null;
  const number = last && last.record_id === place.record_id && last.pass_id === place.pass_id ? last.number : null;
  return (
    <section class="sheet" data-testid="lock-timer" aria-label={t.door.timer.title}>
      {number === null ? null : <p>{t.door.timer.pass(number)}</p>}
      {timer ? <p class="setting" data-testid="lock-time">{localNumbers(elapsed(timer, now.value))}<span class="unit-text"> s</span></p> : null}
      {ticking ? <p class="strong" role="status">{t.door.sign.timerRuns}</p> : null}
      {timer && kept.value === "no" ? <Notice shape="warn" id="lock-unkept" live><p>{t.door.timer.unkept}</p>
        <Press id="lock-keep" onPress={keep}>{t.door.timer.tryAgain}</Press></Notice> : null}
      {timer && !ticking && kept.value !== "no" ? <p role="status" data-testid="lock-kept">{kept.value === "yes" ? t.door.timer.sum(localNumbers(`${elapsed(timer, 0)} s`)) : t.common.saved.saving}</p> : null}
      {ticking
        ? <Press id="lock-stop" place="lock-timing" kind="main" large wide onPress={() => holdTimer(Date.now())}><Glyph shape="off" />{t.door.timer.stop}</Press>
        : <Press id="lock-start" place="lock-timing" kind="main" large wide disabled={!writing.value} onPress={() => startTimer(place.record_id, place.pass_id, Date.now())}><Glyph shape="on" />{t.door.timer.start}</Press>}
    </section>
  );
}
