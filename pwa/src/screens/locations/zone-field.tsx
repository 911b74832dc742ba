import { useSignal } from "@preact/signals";
import { Choice, TextField } from "../../parts/fields";
import { zones, zonesLike, zoneText } from "../../session/zones";
import { locale, t } from "../../text";

const MOST = 6;

/** What the clock there shows now; nothing for a zone that this browser does not know. */
export function timeIn(zone: string): string {
  try {
    return new Intl.DateTimeFormat(locale(), { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone }).format(Date.now());
  } catch {
    return "";
  }
}

/** A time zone, found by the name of a city; what is chosen stays in sight with what its clock shows. */
export function ZoneField({ id, value, onChange, wrong }: { id: string; value: string; onChange: (zone: string) => void; wrong: string | undefined }) {
  const w = t.places;
  const wanted = useSignal("");
  const found = zonesLike(zones(), wanted.value, MOST);
  const shown = [...(value ? [value] : []), ...found.filter((one) => one !== value)];
  return (
    <div class="stack">
      {shown.length > 0 ? <Choice id={id} legend={w.zoneLabel} value={value} onChange={onChange} wrong={wrong}
        options={shown.map((one) => ({ value: one, text: zoneText(one), under: w.zoneNow(timeIn(one)) }))} /> : null}
      <TextField id={`${id}-search`} kind="search" label={w.zoneSearch} hint={w.zoneHint} value={wanted.value} max={60} onChange={(text) => { wanted.value = text; }}
        wrong={wanted.value.trim() && found.length === 0 ? w.zoneNone : shown.length === 0 ? wrong : undefined} />
    </div>
  );
}
