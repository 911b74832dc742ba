import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Press } from "../../parts/basics";
import { addLaserTime, withdraw } from "../../session/commands";
import { openPause, resumeCase } from "../../session/commands_case";
import type { RecordDocument, RecordPass } from "../../session/fold";
import { writing } from "../../session/state";
import { cameBack, clearTimer, elapsed, holdTimer, keep, kept, running, startTimer, type Running } from "../../session/timer";
import { localNumbers, t } from "../../text";
import { attempt, busy } from "../attempt";
import { href } from "../route";
import { offerUndo } from "../undo";

/** The large laser-on button at the foot, where the thumb is, with the time beside it. */
export function LaserBar({ record, pass }: { record: RecordDocument; pass: RecordPass }) {
  const timer = running.value?.record_id === record.record_id ? running.value : null;
  const now = useSignal(Date.now());
  const ticking = timer !== null && timer.stopped_ms === null;
  useEffect(() => {
    if (!ticking) return;
    now.value = Date.now();
    const beat = setInterval(() => { now.value = Date.now(); }, 100);
    return () => clearInterval(beat);
  }, [ticking]);
  if (timer && timer.stopped_ms !== null) return <Held record={record} timer={timer} />;
  const elsewhere = running.value !== null && timer === null;
  const start = () => {
    startTimer(record.record_id, pass.pass_id, Date.now());
    // Whoever times again has gone on; the finger is answered first.
    if (openPause(record)) void attempt(() => resumeCase(record));
  };
  const stop = () => {
    if (!timer) return;
    if (cameBack.value) { holdTimer(Date.now()); return; }
    void keepTime(record, timer.pass_id, elapsed(timer, Date.now()), "timer", null).then((done) => { if (done) clearTimer(); });
  };
  return (
    <div class={ticking ? "foot laser running" : "foot laser"}>
      <div class="laser-time">
        <span class="setting" data-testid="laser-time" data-kept={kept.value}>{localNumbers(timer ? elapsed(timer, now.value) : round(pass.laser_on_s))}<span class="unit-text"> s</span></span>
        <span class="small" role="status">{ticking && kept.value === "no" ? null : ticking ? t.case.started : elsewhere ? <a href={href("case", running.value!.record_id)}>{t.case.timerElsewhere}</a> : `${t.case.pass(pass.number)}, ${t.case.laserOn}`}</span>
      </div>
      {ticking && kept.value === "no" ? <Unkept /> : null}
      {ticking
        ? <Press id="laser-stop" place="laser-timing" kind="main" large disabled={busy.value} onPress={stop}><Glyph shape="off" />{t.case.stop}</Press>
        : <Press id="laser-start" place="laser-timing" kind="main" large disabled={!writing.value || busy.value || elsewhere} onPress={start}><Glyph shape="on" />{t.case.start}</Press>}
    </div>
  );
}

/** The pass whose laser-on time is running, or waits to be kept. */
export const timedPass = (record: RecordDocument): RecordPass | undefined =>
  running.value?.record_id === record.record_id ? record.passes.find((pass) => pass.pass_id === running.value!.pass_id) : undefined;

/** Where a running time can be stopped on a screen beside the case, above the way to other screens. */
export function PassTimer({ record }: { record: RecordDocument }) {
  const pass = timedPass(record);
  return pass ? <div class="plan-bar"><LaserBar record={record} pass={pass} /></div> : null;
}

/** The start could not be written down: it is said, not hoped. */
function Unkept() {
  return (
    <p class="small strong unkept" role="alert" data-testid="timer-unkept"><Glyph shape="warn" /> {t.door.timer.unkept}{" "}
      <Press id="timer-keep-start" kind="quiet" onPress={keep}>{t.door.timer.tryAgain}</Press></p>
  );
}

/** A time that was stopped while nobody was signed in, or that ran on unseen: a person decides. */
function Held({ record, timer }: { record: RecordDocument; timer: Running }) {
  const seconds = elapsed(timer, 0);
  const unseen = cameBack.value;
  const keep = () => void keepTime(record, timer.pass_id, seconds, unseen ? "estimate" : "timer", null).then((done) => { if (done) clearTimer(); });
  return (
    <div class="foot held" data-testid="timer-held" role="alert">
      <p>{unseen ? t.case.reopened : t.case.timerKept(localNumbers(`${seconds} s`))}</p>
      <Press id="timer-keep" kind="main" large disabled={busy.value || !writing.value} onPress={keep}>
        {t.case.add}: {localNumbers(`${seconds}\u00a0s`)}{unseen ? ` (${t.case.sources["estimate"]?.toLowerCase()})` : ""}</Press>
      <Press id="timer-drop" large onPress={clearTimer}>{t.case.drop}</Press>
    </div>
  );
}

export const round = (seconds: number): string => String(Number(seconds.toFixed(1)));

export async function keepTime(record: RecordDocument, pass_id: string, seconds: string, source: string, pulses: number | null): Promise<boolean> {
  return attempt(async () => {
    const event_id = await addLaserTime(record, pass_id, seconds, source, pulses);
    offerUndo(t.case.undoTime(localNumbers(`${seconds} s`)), () => withdraw(record.record_id, event_id, t.case.undoReason));
  });
}
