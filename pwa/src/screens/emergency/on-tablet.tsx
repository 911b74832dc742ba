import { useEffect } from "preact/hooks";
import { EmergencyAlarm } from "../../parts/alarm";
import { momentText } from "../../parts/dates";
import type { Emergency } from "../../session/emergencies";
import { personName } from "../../session/house";
import { may } from "../../session/rights";
import { person } from "../../session/state";
import { hearOfEmergencies, markSeenHere, told } from "../../session/told-emergencies";
import { allWords, t } from "../../text";
import { attempt, busy } from "../attempt";

/** On a tablet, for whoever answers for the practice: who opened records in an emergency, until one of them has seen it. */
export function TabletEmergencies() {
  const answers = may("emergency.acknowledge");
  useEffect(() => {
    if (!answers) return;
    let over = false;
    let end = () => { over = true; };
    // These words are not among the first ones.
    void allWords().then(() => { if (!over) end = hearOfEmergencies(); }, () => undefined);
    return () => end();
  }, [answers, person.value?.person_id]);
  if (!answers || told.value.length === 0) return null;
  return (
    <div class="strip still">{told.value.map((one) => (
      <EmergencyAlarm key={one.emergency_id} when={momentText(one.opened_at)} recorded={one.rights.includes("record.write")}
        who={whoOf(one)}
        reason={one.reason} busy={busy.value} onSeen={() => void attempt(() => markSeenHere(one.emergency_id))} />
    ))}</div>
  );
}

/** Whoever came from another location is known by what was said with it. */
function whoOf({ display_name, works_at, person_id }: Emergency): string {
  if (display_name) return works_at ? t.emergency.from(display_name, works_at) : display_name;
  return personName(person_id) ?? t.common.unknownPerson;
}
