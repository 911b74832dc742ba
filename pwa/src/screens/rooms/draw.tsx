import { useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { Press } from "../../parts/basics";
import { RoomDrawing } from "../../parts/drawings/room";
import { Select, TextField, Wrong } from "../../parts/fields";
import { draft } from "../../session/draft";
import { drawRoom, roomName, type RoomDocument } from "../../session/rooms";
import { person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { centimetres, formOf, planFrom, rectangle, type PointForm, type RoomForm, type Wrongs } from "./draw-form";

/** Drawing a room by its measures: no dragging, every corner is a pair of numbers. */
export function DrawRoom({ room }: { room: RoomDocument }) {
  const kept = draft<RoomForm | null>(`room:${person.value!.person_id}:${room.room_id}`, null);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? (room.plan ? formOf(room.plan) : rectangle(roomName(room), 400, 350));
  return <Editor room={room} form={form} set={(change) => kept.set({ ...form, ...change })} done={() => { kept.clear(); go("practice", "rooms", room.room_id); }} />;
}

interface EditorProps { room: RoomDocument; form: RoomForm; set: (change: Partial<RoomForm>) => void; done: () => void }

function Editor({ room, form, set, done }: EditorProps) {
  const w = t.rooms.edit;
  const { plan, wrong } = planFrom(form);
  const keep = () => void attempt(async () => { if (plan) await drawRoom(room.room_id, plan); }).then((held) => { if (held) done(); });
  const walls = form.corners.map((_, i) => ({ value: String(i), text: w.wallName(i + 1, ((i + 1) % form.corners.length) + 1) }));
  return (
    <div class="page draw-room">
      <h1>{w.title(roomName(room))}</h1>
      <p class="soft">{w.lead}</p>
      <div class="two">
        <div class="stack">
          <TextField id="room-name" label={w.name} value={form.name} max={100} wrong={wrong["name"] ? w.wrong.name : undefined} onChange={(name) => set({ name })} />
          <Rectangle onMake={(width, depth) => set(rectangle(form.name, width, depth))} />
          <Part title={w.corners} wrong={wrong["corners"] ? w.wrong[wrong["corners"]] : undefined}>
            {form.corners.map((corner, i) => (
              <Place key={i} id={`corner-${i}`} title={w.corner(i + 1)} at={corner} wrong={wrong}
                onChange={(next) => set({ corners: form.corners.map((one, j) => (j === i ? next : one)) })}
                onRemove={form.corners.length > 3 ? () => set({ corners: form.corners.filter((_, j) => j !== i) }) : null} />
            ))}
            <Press id="add-corner" onPress={() => set({ corners: [...form.corners, { x: "", y: "" }] })}>{w.addCorner}</Press>
          </Part>
          <Part title={w.openings}>
            {form.openings.map((one, i) => {
              const change = (next: Partial<typeof one>) => set({ openings: form.openings.map((other, j) => (j === i ? { ...other, ...next } : other)) });
              return (
                <fieldset class="field" key={i} data-testid={`opening-${i}`}>
                  <legend>{t.rooms.opening[one.kind as "door" | "window"]}</legend>
                  <Select id={`opening-${i}-wall`} label={w.wall} options={walls} value={String(one.wall)} onChange={(wall) => change({ wall: Number(wall) })} />
                  <div class="row">
                    <TextField id={`opening-${i}-from`} label={w.from} mode="numeric" max={5} value={one.from} onChange={(from) => change({ from })} />
                    <TextField id={`opening-${i}-width`} label={w.opens} mode="numeric" max={5} value={one.width} onChange={(width) => change({ width })} />
                  </div>
                  <Said id={`opening-${i}`} wrong={wrong} />
                  <Press id={`opening-${i}-remove`} kind="quiet" onPress={() => set({ openings: form.openings.filter((_, j) => j !== i) })}>{w.remove}</Press>
                </fieldset>
              );
            })}
            <div class="row">
              <Press id="add-door" onPress={() => set({ openings: [...form.openings, { kind: "door", wall: 0, from: "0", width: "90" }] })}>{w.addDoor}</Press>
              <Press id="add-window" onPress={() => set({ openings: [...form.openings, { kind: "window", wall: 0, from: "0", width: "120" }] })}>{w.addWindow}</Press>
            </div>
          </Part>
          <Part title={w.chairs}>
            {form.chairs.map((chair, i) => {
              const change = (next: Partial<typeof chair>) => set({ chairs: form.chairs.map((other, j) => (j === i ? { ...other, ...next } : other)) });
              return (
                <Place key={i} id={`chair-${i}`} title={w.chair(i + 1)} at={chair} wrong={wrong} onChange={change}
                  onRemove={() => set({ chairs: form.chairs.filter((_, j) => j !== i) })}>
                  <TextField id={`chair-${i}-turn`} label={w.turn} mode="numeric" max={3} value={chair.turn} onChange={(turn) => change({ turn })} />
                </Place>
              );
            })}
            <Press id="add-chair" onPress={() => set({ chairs: [...form.chairs, { ...form.source, turn: "0" }] })}>{w.addChair}</Press>
          </Part>
          <Part title={w.source}><Place id="source" title={w.source} at={form.source} wrong={wrong} onChange={(source) => set({ source })} onRemove={null} /></Part>
        </div>
        <div class="stack">
          {plan ? <RoomDrawing id="room-preview" plan={plan} distances={[]} /> : null}
          <Press id="room-save" kind="main" large wide disabled={plan === null || busy.value || !writing.value} onPress={keep}>{w.save}</Press>
          <Press id="room-cancel" kind="quiet" onPress={done}>{w.cancel}</Press>
        </div>
      </div>
    </div>
  );
}

function Part({ title, wrong, children }: { title: string; wrong?: string | undefined; children: ComponentChildren }) {
  return <section class="sheet"><h2>{title}</h2>{wrong ? <Wrong id="room-part-wrong">{wrong}</Wrong> : null}{children}</section>;
}

function Said({ id, wrong }: { id: string; wrong: Wrongs }) {
  const what = wrong[id];
  return what ? <Wrong id={`${id}-wrong`}>{t.rooms.edit.wrong[what]}</Wrong> : null;
}

interface PlaceProps {
  id: string; title: string; at: PointForm; wrong: Wrongs; onChange: (at: PointForm) => void; onRemove: (() => void) | null;
  children?: ComponentChildren;
}

function Place({ id, title, at, wrong, onChange, onRemove, children }: PlaceProps) {
  const w = t.rooms.edit;
  return (
    <fieldset class="field" data-testid={id}>
      <legend>{title}</legend>
      <div class="row">
        <TextField id={`${id}-x`} label={w.x} mode="numeric" max={5} value={at.x} onChange={(x) => onChange({ ...at, x })} />
        <TextField id={`${id}-y`} label={w.y} mode="numeric" max={5} value={at.y} onChange={(y) => onChange({ ...at, y })} />
        {children}
      </div>
      <Said id={id} wrong={wrong} />
      {onRemove ? <Press id={`${id}-remove`} kind="quiet" onPress={onRemove}>{w.remove}</Press> : null}
    </fieldset>
  );
}

function Rectangle({ onMake }: { onMake: (width_cm: number, depth_cm: number) => void }) {
  const w = t.rooms.edit;
  const width = useSignal("");
  const depth = useSignal("");
  const [wide, deep] = [centimetres(width.value), centimetres(depth.value)];
  return (
    <Part title={w.rectangle}>
      <div class="row">
        <TextField id="rectangle-width" label={w.width} mode="numeric" max={5} value={width.value} onChange={(text) => { width.value = text; }} />
        <TextField id="rectangle-depth" label={w.depth} mode="numeric" max={5} value={depth.value} onChange={(text) => { depth.value = text; }} />
      </div>
      <Press id="rectangle-make" disabled={!wide || !deep} onPress={() => onMake(wide!, deep!)}>{w.make}</Press>
    </Part>
  );
}
