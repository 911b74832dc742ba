import { t } from "../text";
import { Notice, Press } from "./basics";

interface Props { who: string; when: string; recorded: boolean; reason: string; busy: boolean; onSeen: () => void }

/** Somebody opened patients' records beyond their role: said calmly, until one person has seen it. */
export function EmergencyAlarm({ who, when, recorded, reason, busy, onSeen }: Props) {
  const w = t.emergency;
  return (
    <Notice id="emergency-alarm" live>
      <p class="strong">{(recorded ? w.alarmWrote : w.alarm)(who, when)}</p>
      <p>{w.alarmWhy(reason)}</p>
      <p class="small">{w.alarmDo}</p>
      <Press id="emergency-seen" disabled={busy} onPress={onSeen}>{w.seen}</Press>
    </Notice>
  );
}
