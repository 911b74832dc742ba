import { Glyph, Mark, Notice } from "../../parts/basics";
import { house } from "../../session/house";
import { may } from "../../session/rights";
import { roomName, rooms, type RoomDocument } from "../../session/rooms";
import { t } from "../../text";
import { useRegisters } from "../registers";
import { href } from "../route";
import { DrawRoom } from "./draw";
import { RoomSheet } from "./sheet";

/** The rooms: all of them, one with its hazard distances, or drawing it. */
export function Rooms({ room_id, mode }: { room_id: string | null; mode: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const room = rooms.value.find((one) => one.room_id === room_id) ?? null;
  if (!room) return <Overview />;
  if (mode === "draw" && may("room.write")) return <DrawRoom room={room} />;
  return <RoomSheet key={room.room_id} room={room} />;
}

function Overview() {
  return (
    <div class="page">
      <h1>{t.rooms.title}</h1>
      <p class="soft">{t.rooms.lead}</p>
      <ul class="list">{rooms.value.map((room) => <Entry key={room.room_id} room={room} />)}</ul>
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function Entry({ room }: { room: RoomDocument }) {
  const lasers = house.value.devices.filter((device) => device.room_id === room.room_id);
  return (
    <li>
      <a class="item" href={href("practice", "rooms", room.room_id)} data-testid="room">
        <span class="grow"><span class="strong">{roomName(room)}</span>
          {lasers.map((device) => <span key={device.device_id} class="small">{device.label}</span>)}
          {room.plan ? null : <Mark shape="note">{t.rooms.notDrawn}</Mark>}
          {lasers.some((device) => !room.zones.some((zone) => zone.device_id === device.device_id))
            ? <Mark shape="wait">{t.rooms.undecided}</Mark> : null}</span>
        <Glyph shape="turn" />
      </a>
    </li>
  );
}
