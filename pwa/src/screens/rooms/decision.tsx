import { Press } from "../../parts/basics";
import { Choice, TextField, Wrong } from "../../parts/fields";
import { QuantityField } from "../../parts/quantity";
import type { HazardResponse } from "../../dose/hazard/evaluate";
import { decideZone, type HazardRequest, type RoomDocument } from "../../session/rooms";
import { writing } from "../../session/state";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { zoneFrom, type ZoneForm, type ZoneProblem } from "./zone";

interface Props {
  room: RoomDocument;
  device: Device;
  form: ZoneForm;
  set: (change: Partial<ZoneForm>) => void;
  request: HazardRequest;
  response: HazardResponse;
  judged: { problem: ZoneProblem };
  until: string;
}

/** The safety officer's decision; everybody, unless a smaller zone has its reason in writing. */
export function Decision({ room, device, form, set, request, response, judged, until }: Props) {
  const keep = () => void attempt(async () => {
    await decideZone(room.room_id, zoneFrom(form, device, request, response));
    set({ everybody: true, reason: "", smaller: { raw: "", unit: "m" } });
  });
  const typed = form.smaller.raw.trim() !== "";
  return (
    <section class="sheet no-print" data-testid="zone-decision">
      <h2>{t.rooms.decision}</h2>
      <Choice id="zone-who" legend={t.rooms.decision} value={form.everybody ? "everybody" : "smaller"}
        options={[{ value: "everybody", text: t.rooms.everybody }, { value: "smaller", text: t.rooms.smaller, under: t.rooms.smallerHint }]}
        onChange={(who) => set({ everybody: who === "everybody" })} />
      {form.everybody ? null : (
        <>
          <QuantityField id="zone-smaller" label={t.rooms.smallerDistance} typed={form.smaller} units={["m", "cm"]}
            wrong={typed && judged.problem === "distance" ? t.rooms.smallerThan(until) : undefined} onChange={(smaller) => set({ smaller })} />
          <TextField id="zone-reason-field" label={t.rooms.reason} long value={form.reason} onChange={(reason) => set({ reason })} />
          {judged.problem === "reason" ? <Wrong id="zone-reason-wrong">{t.rooms.reasonNeeded}</Wrong> : null}
        </>
      )}
      <Press id="zone-keep" kind="main" large wide disabled={judged.problem !== null || busy.value || !writing.value} onPress={keep}>{t.rooms.decide}</Press>
    </section>
  );
}
