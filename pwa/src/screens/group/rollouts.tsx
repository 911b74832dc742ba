import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Mark, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { Select, TextField, Tick } from "../../parts/fields";
import { lists } from "../../session/house_lists";
import { presetsInForce } from "../../session/house_presets";
import { may } from "../../session/rights";
import { writing } from "../../session/state";
import { rollOut, type Rollout, type RolloutPlace, type Rollouts as Known } from "../../sync/rollouts";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { dayText } from "../lists/show";
import { STATE_SHAPES } from "./offers";

/** At a group: what was rolled out, what became of it at each practice, and rolling out. */
export function Rollouts({ known, again }: { known: Known; again: () => Promise<void> }) {
  const w = t.offers.group;
  return (
    <section class="sheet" aria-label={w.title} data-testid="rollouts">
      <h2>{w.title}</h2>
      <p class="small">{w.lead}</p>
      {known.practices.length > 0 && may("group.roll_out") ? <RollOut practices={known.practices} again={again} /> : null}
      {known.rollouts.length === 0 ? <p data-testid="rollouts-none">{w.none}</p> : null}
      <ul class="list">{known.rollouts.map((one) => <li class="item" key={one.rollout_id} data-testid="rollout"><OneRollout one={one} /></li>)}</ul>
    </section>
  );
}

function OneRollout({ one }: { one: Rollout }) {
  const w = t.offers;
  return (
    <span class="grow">
      <span class="strong">{w.named(w.kinds[one.kind], one.title, one.version)}</span>
      <span class="small">{w.group.made(one.made_by_name ?? t.common.unknownPerson, momentText(one.made_at))} {one.to_all ? w.group.all : ""}</span>
      {one.effective_from ? <span class="small">{w.day(dayText(one.effective_from))}</span> : null}
      {one.note ? <span class="small">{w.note(one.note)}</span> : null}
      {one.practices.flatMap((practice) => practice.places.length === 0
        ? [<Mark key={practice.practice_id} shape="wait">{practice.name}: {w.group.notYet}</Mark>]
        : practice.places.map((place) => (
          <Mark key={place.location_id} shape={place.state ? STATE_SHAPES[place.state] : "wait"}>{practice.name}, {place.name}: {became(place)}</Mark>)))}
    </span>
  );
}

/** What became of it at one place, in words. */
function became(place: RolloutPlace): string {
  const w = t.offers.group;
  const by = place.by ?? t.common.unknownPerson;
  const at = place.at ? momentText(place.at) : "";
  switch (place.state) {
    case null: return w.notYet;
    case "open": return w.received(at);
    case "taken": return w.taken(by, at, place.version ?? 0);
    case "declined": return w.declined(by, at, place.reason ?? "");
    case "replaced": return w.replaced;
  }
}

function RollOut({ practices, again }: { practices: Known["practices"]; again: () => Promise<void> }) {
  const w = t.offers.group;
  const what = useSignal("");
  const chosen = useSignal<readonly string[] | null>(null);
  const note = useSignal("");
  const day = useSignal("");
  const key = useSignal(newId());
  const of = [
    ...lists.value.filter((one) => one.version != null).map((one) => ({ value: `list/${one.list_id}`, text: t.offers.named(t.offers.kinds.list, one.title, one.version ?? 0) })),
    ...presetsInForce.value.map((one) => ({ value: `preset/${one.preset_id}`, text: t.offers.named(t.offers.kinds.preset, one.name, one.version) })),
  ];
  const [kind, source_id] = [what.value.split("/")[0], what.value.slice(what.value.indexOf("/") + 1)];
  const go = () => void attempt(() => rollOut({
    kind: kind as "list" | "preset", source_id, practices: chosen.value === null ? null : [...chosen.value],
    effective_from: kind === "list" && day.value ? day.value : null, note: note.value.trim() || null,
  }, key.value)).then((done) => {
    if (!done) return;
    what.value = note.value = day.value = "";
    key.value = newId();
    void again();
  });
  const tick = (id: string, on: boolean) => { chosen.value = on ? [...(chosen.value ?? []), id] : (chosen.value ?? []).filter((one) => one !== id); };
  return (
    <div class="stack" data-testid="roll-out">
      <Select id="rollout-what" label={w.what} value={what.value} onChange={(value) => { what.value = value; }} options={[{ value: "", text: w.choose }, ...of]} />
      <Tick id="rollout-all" checked={chosen.value === null} onChange={(all) => { chosen.value = all ? null : []; }}>{w.toAll}</Tick>
      {chosen.value === null ? null : practices.map((one) => (
        <Tick key={one.practice_id} id={`rollout-to-${one.practice_id}`} checked={chosen.value!.includes(one.practice_id)} onChange={(on) => tick(one.practice_id, on)}>{one.name}</Tick>))}
      {kind === "list" ? (
        <div class="field"><label for="rollout-day">{w.day}</label>
          <input id="rollout-day" data-testid="rollout-day" type="date" value={day.value} aria-describedby="rollout-day-hint" onInput={(e) => { day.value = e.currentTarget.value; }} />
          <span class="hint" id="rollout-day-hint">{w.dayHint}</span></div>
      ) : null}
      <TextField id="rollout-note" label={w.noteLabel} value={note.value} onChange={(text) => { note.value = text; }} long max={2000} spell />
      <Press id="rollout-go" kind="main" disabled={!what.value || chosen.value?.length === 0 || busy.value || !writing.value} onPress={go}>{w.go}</Press>
    </div>
  );
}
