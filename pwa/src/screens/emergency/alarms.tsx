import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { momentText, timeText } from "../../parts/dates";
import { loadUnseen, markSeen, unseen, type Emergency } from "../../session/emergencies";
import { loadDeskRegisters, personName } from "../../session/house";
import { may } from "../../session/rights";
import { goTo, guest } from "../../session/places";
import { person, places } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { follow } from "../desk-idle";

/** How often a desk that stands open asks whether there is one [ms]. */
const AGAIN_MS = 60_000;
const BACK_BEFORE_MS = 10_000;
const ASK_AGAIN_MS = 5_000;

/** On every screen of a desk: what one has opened oneself, and what others have and nobody has seen. */
export function EmergencyNotices() {
  const told = may("emergency.acknowledge");
  useEffect(() => {
    if (!told) return;
    // Not being reached just now is said by whatever the person does next.
    const look = () => void loadUnseen().catch(() => undefined);
    void loadDeskRegisters().catch(() => undefined).then(look);
    const every = setInterval(look, AGAIN_MS);
    return () => clearInterval(every);
  }, [told, person.value?.person_id]);
  const ended = useSignal<string | null>(null);
  const own = person.value?.emergency;
  const away = guest() ? places.value[0] : undefined;
  useEffect(() => {
    if (!own || away) return;
    // The server has closed the records by then; a clock that goes ahead of its asks once more.
    let again: ReturnType<typeof setTimeout>;
    const over = () => void follow().then(() => { if (person.value?.emergency?.until === own.until) again = setTimeout(over, ASK_AGAIN_MS); else ended.value = own.until; });
    again = setTimeout(over, Math.max(0, Date.parse(own.until) - Date.now()));
    return () => clearTimeout(again);
  }, [own?.until, away?.location_id]);
  useEffect(() => {
    if (!own || !away) return;
    // A little before it ends, so that the way back is still open; the server ends it by itself.
    const left = Date.parse(own.until) - BACK_BEFORE_MS - Date.now();
    const end = setTimeout(() => void goTo(away.location_id).catch(() => undefined), Math.max(0, left));
    return () => clearTimeout(end);
  }, [own?.until, away?.location_id]);
  const alarms = told ? unseen.value : [];
  if (!own && alarms.length === 0 && ended.value === null) return null;
  return (
    <div class="strip">
      {!own && ended.value !== null ? <Notice calm shape="lock" id="emergency-over" live><p>{t.emergency.over(timeText(ended.value))}</p></Notice> : null}
      {own ? <Notice shape="warn" id="emergency-open"><p>{t.emergency.open(timeText(own.until))}</p>
        {away ? <div class="row"><Press id="emergency-back" disabled={busy.value} onPress={() => void attempt(() => goTo(away.location_id))}>{t.emergency.back(away.name)}</Press></div> : null}</Notice> : null}
      {alarms.map((one) => (
        <Notice key={one.emergency_id} shape="warn" id="emergency-alarm" live>
          <p class="strong">{(one.rights.includes("record.write") ? t.emergency.alarmWrote : t.emergency.alarm)(whoOf(one), momentText(one.opened_at))}</p>
          <p>{t.emergency.alarmWhy(one.reason)}</p>
          <Press id="emergency-seen" disabled={busy.value} onPress={() => void attempt(() => markSeen(one.emergency_id))}>{t.emergency.seen}</Press>
        </Notice>
      ))}
    </div>
  );
}

/** Whoever came from another location is known by what was said with it. */
function whoOf(one: Emergency): string {
  if (one.display_name) return one.works_at ? t.emergency.from(one.display_name, one.works_at) : one.display_name;
  return personName(one.person_id) ?? t.common.unknownPerson;
}
