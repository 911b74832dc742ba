import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Press } from "../parts/basics";
import { elapsed, holdTimer, running } from "../session/timer";
import { localNumbers, t } from "../text";
import { href, route } from "./route";

/** The screens of a case that have its timer at their foot. */
const WITH_TIMER: readonly string[] = ["case", "plan", "compare"];

/** A laser-on time that runs, or waits to be kept, on every other screen: nobody has to look for the stop. */
export function TimerStrip() {
  const timer = running.value;
  const ticking = timer !== null && timer.stopped_ms === null;
  const now = useSignal(Date.now());
  useEffect(() => {
    if (!ticking) return;
    now.value = Date.now();
    const beat = setInterval(() => { now.value = Date.now(); }, 200);
    return () => clearInterval(beat);
  }, [ticking]);
  const [screen, record_id] = route.value;
  if (!timer || (WITH_TIMER.includes(screen ?? "") && record_id === timer.record_id)) return null;
  const time = localNumbers(`${elapsed(timer, now.value)}\u00a0s`);
  return (
    <div class="strip" data-testid="timer-strip">
      <div class="row spread">
        <span class="strong num" data-testid="strip-time">{ticking ? `${t.door.sign.timerRuns}: ${time}` : t.door.timer.waits(time)}</span>
        <span class="row">
          <a class="button" href={href("case", timer.record_id)} data-testid="strip-case">{t.door.timer.toCase}</a>
          {ticking ? <Press id="strip-stop" kind="main" large onPress={() => holdTimer(Date.now())}><Glyph shape="off" />{t.door.timer.stop}</Press> : null}
        </span>
      </div>
    </div>
  );
}
