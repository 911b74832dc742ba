import { useSignal } from "@preact/signals";
import { Mark, Notice, Press } from "../../parts/basics";
import { RoomDrawing } from "../../parts/drawings/room";
import { distanceText } from "../../parts/drawings/room-numbers";
import { momentText } from "../../parts/dates";
import { sentence } from "../../parts/dose";
import { Choice } from "../../parts/fields";
import { house, personName } from "../../session/house";
import { may } from "../../session/rights";
import { roomName, type RoomDocument } from "../../session/rooms";
import type { Device, Handpiece } from "../../session/types";
import { t } from "../../text";
import { go, href } from "../route";
import { Decision } from "./decision";
import { densityText, HazardNumbers, ZoneBasis } from "./numbers";
import { fieldName } from "./facts";
import { ZoneInputs } from "./inputs";
import { answerOf, decidingMm, distancesOf, farthestTip, freshForm, judgeDecision, requestFrom, standsOnOther, type ZoneForm } from "./zone";

/** One room: its plan, how far each laser reaches, and what was decided. It prints as one sheet. */
export function RoomSheet({ room }: { room: RoomDocument }) {
  const lasers = house.value.devices.filter((device) => device.room_id === room.room_id);
  const chosen = useSignal(lasers[0]?.device_id ?? "");
  const device = lasers.find((one) => one.device_id === chosen.value) ?? null;
  return (
    <div class="page zone">
      <h1>{t.rooms.printTitle(roomName(room))}</h1>
      {lasers.length > 1 ? <div class="no-print"><Choice id="room-laser" legend={t.rooms.laser} value={chosen.value}
        options={lasers.map((one) => ({ value: one.device_id, text: one.label, under: one.serial }))}
        onChange={(device_id) => { chosen.value = device_id; }} /></div> : null}
      {device ? <p class={lasers.length > 1 ? "only-print" : undefined} data-testid="zone-laser">{t.rooms.laser}: <strong>{device.label}</strong>, <span class="num">{device.serial}</span></p> : null}
      {room.plan ? null : <Notice shape="note" id="room-not-drawn"><p>{t.rooms.notDrawn}</p></Notice>}
      {device ? <Zone key={device.device_id} room={room} device={device} /> : <p class="soft">{t.rooms.noLaser}</p>}
      <p class="small soft">{t.rooms.deciders} {t.common.caution}</p>
      <div class="row no-print">
        {may("room.write") ? <Press id="room-draw" onPress={() => go("practice", "rooms", room.room_id, "draw")}>{room.plan ? t.rooms.redraw : t.rooms.draw}</Press> : null}
        <Press id="room-print" onPress={() => window.print()}>{t.rooms.print}</Press>
        <a class="button quiet" href={href("practice", "rooms")}>{t.rooms.title}</a>
      </div>
    </div>
  );
}

function Zone({ room, device }: { room: RoomDocument; device: Device }) {
  const tips = house.value.handpieces.filter((one) => one.device_id === device.device_id);
  const decided = room.zones.find((one) => one.device_id === device.device_id) ?? null;
  const form = useSignal<ZoneForm>(freshForm(decided?.handpiece_id ?? farthestTip(device, tips)?.handpiece_id ?? null));
  const set = (change: Partial<ZoneForm>) => { form.value = { ...form.value, ...change }; };
  const tip: Handpiece | null = tips.find((one) => one.handpiece_id === form.value.handpiece_id) ?? null;
  const request = requestFrom(form.value, device, tip);
  if (request === null) return <Notice shape="warn" id="room-no-power"><p>{t.rooms.noPower}</p></Notice>;
  const answer = answerOf(request);
  if (!answer.ok) {
    return (
      <>
        <Notice shape="warn" id="room-refused" live>{Object.entries(answer.errors).map(([path, said]) => <p key={path}>{fieldName(path)}: {said.map(sentence).join(" ")}</p>)}</Notice>
        <ZoneInputs key="inputs" form={form.value} set={set} tips={tips} request={request} wrong={answer.errors} />
      </>
    );
  }
  const { response } = answer;
  const until_mm = decidingMm(response);
  const density = response.results["optical_density"]?.value;
  const smaller_mm = decided?.smaller ? Number.parseFloat(decided.smaller.distance) * (decided.smaller.distance.endsWith(" cm") ? 10 : 1000) : null;
  const judged = judgeDecision(form.value, until_mm);
  const od = typeof density === "number" ? densityText(density) : t.rooms.notOffered;
  const until = until_mm === null ? t.rooms.notOffered : distanceText(until_mm);
  return (
    <>
      <p class="strong" data-testid="zone-sentence">
        {smaller_mm !== null
          ? t.rooms.sentenceSmaller(distanceText(smaller_mm), od, until, response.edition)
          : until_mm === null ? t.rooms.sentenceUnknown(od, response.edition) : t.rooms.sentence(od, until, response.edition)}
      </p>
      {decided
        ? <p><Mark shape="done" id="zone-decided">{t.rooms.decidedBy(personName(decided.by) ?? t.common.unknownPerson, momentText(decided.at))}</Mark>
            {decided.smaller ? <span data-testid="zone-reason"> {t.rooms.reason}: {decided.smaller.reason}</span> : null}</p>
        : <p><Mark shape="wait" id="zone-undecided">{t.rooms.undecided}</Mark></p>}
      {decided?.differing?.length ? <Notice shape="warn" id="zone-not-ours"><p>{t.rooms.notOurs(decided.differing.join(", "))}</p></Notice> : null}
      {decided && room.plan && decided.at < room.plan.at ? <Notice shape="warn" id="zone-redrawn"><p>{t.rooms.changedSince}</p></Notice> : null}
      {decided && standsOnOther(decided, device, house.value.handpieces.find((one) => one.handpiece_id === decided.handpiece_id) ?? null)
        ? <Notice shape="warn" id="zone-differs"><p>{t.rooms.differs}</p></Notice> : null}
      {room.plan ? <RoomDrawing id="room-plan" plan={room.plan} distances={distancesOf(response)} decided_mm={smaller_mm} /> : null}
      <HazardNumbers request={request} response={response} />
      <ZoneInputs key="inputs" form={form.value} set={set} tips={tips} request={request} />
      {may("room.write") ? <Decision room={room} device={device} form={form.value} set={set} request={request} response={response} judged={judged} until={until} /> : null}
      <ul class="small">{response.warnings.map(({ code, text }) => <li key={code}>{(t.rooms.cautions as Record<string, string>)[code] ?? text}</li>)}</ul>
      <ZoneBasis request={request} response={response} />
    </>
  );
}
