import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { may } from "../../session/rights";
import { person } from "../../session/state";
import { alarmedTablets, answerAlarm, loadAlarms, openAlarms, type WitnessAlarm } from "../../session/witness-alarms";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { href, route } from "../route";

/** How often a desk that stands open asks whether there is one [ms]. */
const AGAIN_MS = 60_000;

/** On every screen of an administrator's desk: a tablet's log is not the server's. */
export function WitnessAlarms() {
  const told = may("tablet.write");
  useEffect(() => {
    if (!told) return;
    // Not being reached just now is said by whatever the person does next.
    const look = () => void loadAlarms().catch(() => undefined);
    look();
    const every = setInterval(look, AGAIN_MS);
    return () => clearInterval(every);
  }, [told, person.value?.person_id]);
  // On the page of the tablets each stands in full.
  const in_full = route.value[0] === "practice" && route.value[1] === "tablets" && !route.value[2];
  if (!told || in_full || openAlarms.value.length === 0) return null;
  return (
    <div class="strip">{openAlarms.value.map((one) => (
      <Notice key={one.alarm_id} shape="stop" id="witness-alarm" live>
        <p class="strong">{headline(one)}</p>
        <a class="button" href={href("practice", "tablets")} data-testid="witness-open">{t.witness.open}</a>
      </Notice>))}</div>
  );
}

const headline = (one: WitnessAlarm): string =>
  t.witness.alarm(alarmedTablets.value.get(one.tablet_id) ?? t.witness.aTablet, one.position, momentText(one.at));

/** What each means, what to do, and what was found out: on the page of the tablets. */
export function AlarmsInFull() {
  return <>{openAlarms.value.map((one) => <Alarm key={one.alarm_id} alarm={one} />)}</>;
}

export function Alarm({ alarm }: { alarm: WitnessAlarm }) {
  const w = t.witness;
  const words = useSignal("");
  const asking = useSignal(false);
  const answer = () => {
    if (words.value.trim()) void attempt(() => answerAlarm(alarm.alarm_id, words.value.trim()));
  };
  return (
    <Notice shape="stop" id="witness-in-full">
      <p class="strong">{headline(alarm)}</p>
      <p>{w.means}</p>
      {w.todo.map((line) => <p key={line}>{line}</p>)}
      <p class="small soft pre">{w.had(alarm.expected)}{"\n"}{w.got(alarm.found)}</p>
      {asking.value ? (
        <form class="stack" onSubmit={(e) => { e.preventDefault(); answer(); }}>
          <TextField id="witness-found-out" label={w.foundOut} hint={w.foundOutHint} long value={words.value} max={4000} focus onChange={(text) => { words.value = text; }} />
          <div class="row"><Press id="witness-answer" kind="main" submit disabled={busy.value || !words.value.trim()} onPress={() => undefined}>{w.answer}</Press>
            <Press id="witness-leave" kind="quiet" onPress={() => { asking.value = false; }}>{t.common.cancel}</Press></div>
        </form>
      ) : <Press id="witness-ask" onPress={() => { asking.value = true; }}>{w.ask}</Press>}
    </Notice>
  );
}
