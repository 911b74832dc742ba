import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { Choice, Select, TextField } from "../../parts/fields";
import { quantityText } from "../../parts/quantity";
import { house, personName } from "../../session/house";
import {
  inUse, keyOut, sayOf, type Calibration, type EyewearPiece, type Kept, type KeptHandpiece, type LaserKey, type PowerMeter, type RegisterKind,
} from "../../session/registers";
import { may } from "../../session/rights";
import { person, writing } from "../../session/state";
import { localNumbers, t } from "../../text";
import { attempt, busy } from "../attempt";
import { dayText } from "../day";
import { Papers } from "../upkeep/papers";
import { go, href } from "../route";
import { factsOf, holderOf, laserName, roomOf, troubleOf, usesText, whereOf } from "./describe";
import { calibration, FORMS, type FieldSpec } from "./fields";
import { labelOf, RegisterForm, today } from "./form";

interface Props { kind: RegisterKind; id: string; thing: Kept; mode: string | null }

/** One thing: what is registered of it, what has happened to it, and what can be said about it. */
export function OneThing({ kind, id, thing, mode }: Props) {
  const w = t.registers;
  const back = () => go("practice", "registers", kind, id);
  const trouble = troubleOf(kind, thing, today());
  const active = inUse(thing);
  if (mode === "calibrated" && kind === "meter" && may("device.write")) {
    return <RegisterForm name={`calibrated:${id}`} title={w.calibrationOf(thing.label)} type="meter.calibrated" entity_id={id} sections={[{ id: "calibration", fields: calibration() }]}
      from={{ uncertainty: (thing as PowerMeter).uncertainty }} papers={[]} save={w.save} done={back} />;
  }
  return (
    <div class="page">
      <h1>{thing.label}</h1>
      <p class="soft">{factsOf(kind, thing)}</p>
      {trouble ? <Notice shape="warn" id="register-trouble"><p>{trouble}</p></Notice> : null}
      <div class="two">
        <div class="stack">
          <Facts kind={kind} thing={thing} />
          <History kind={kind} thing={thing} />
        </div>
        <div class="stack">
          {kind === "eyewear" && active && may("register.note") ? <Inspect id={id} /> : null}
          {kind === "key" && active && may("register.note") ? <MoveKey id={id} held={thing as LaserKey} /> : null}
          {kind === "meter" && active && may("device.write") ? <Press id="meter-calibrated" disabled={!writing.value} onPress={() => go("practice", "registers", kind, id, "calibrated")}>{w.noteCalibration}</Press> : null}
          {kind === "device" ? <a class="button" href={href("practice", "power", id)}>{t.power.title}</a> : null}
          {kind === "device" ? <a class="button" href={href("practice", "maintenance", id)} data-testid="device-maintenance">{t.upkeep.maintenance}</a> : null}
          {kind !== "key" && kind !== "meter" ? <a class="button" href={href("practice", "registers", "labels", `${kind}:${id}`)} data-testid="register-label">{w.labels.one}</a> : null}
          {may("device.write") ? <>
            <Press id="register-change" disabled={!writing.value} onPress={() => go("practice", "registers", kind, id, "change")}>{active ? w.change : w.again}</Press>
            {active ? <Retire kind={kind} id={id} /> : null}
          </> : null}
          <a class="button quiet" href={href("practice", "registers", kind)}>{w.kinds[kind].title}</a>
        </div>
      </div>
    </div>
  );
}

function Facts({ kind, thing }: { kind: RegisterKind; thing: Kept }) {
  const w = t.registers;
  const where = whereOf(kind, thing);
  const said = FORMS[kind].flatMap(({ fields }) => fields)
    .filter(({ path }) => path !== "label" && path !== "room_id")
    .map((spec) => [spec, spec.path.split(".").reduce<unknown>((inner, name) => (inner as Record<string, unknown> | null | undefined)?.[name], thing)] as const)
    .filter(([, value]) => value != null && value !== "");
  return (
    <dl class="facts" data-testid="register-facts">
      {where ? <><dt>{w.where}</dt><dd>{where}</dd></> : null}
      {kind === "handpiece" ? <><dt>{w.useCount}</dt><dd class="num" data-testid="register-uses">{usesText(thing as KeptHandpiece)}</dd></> : null}
      {said.map(([spec, value]) => [<dt key={spec.path}>{labelOf(spec)}</dt>, <dd key={`${spec.path}-value`} class="num">{valueText(spec, value)}</dd>])}
      {thing.by || thing.at ? <><dt>{w.noted}</dt><dd>{[personName(thing.by), thing.at ? momentText(thing.at) : null].filter(Boolean).join(", ")}</dd></> : null}
    </dl>
  );
}

function valueText(spec: FieldSpec, value: unknown): string {
  const w = t.registers;
  const text = String(value);
  if (Array.isArray(value)) return value.map((mode: string) => t.plan.modes[mode] ?? mode).join(", ");
  if (spec.kind === "day") return dayText(text);
  if (spec.kind === "percent") return `${localNumbers(String(Number((Number(text) * 100).toPrecision(9))))} %`;
  if (spec.kind === "quantity") return quantityText(text);
  if (spec.kind === "number" || spec.kind === "whole") return localNumbers(text);
  if (spec.options === "device") return laserName(text);
  if (spec.options === "room") return roomOf(text) ?? text;
  const words = { part: w.parts, handpiece_kind: w.handpieceKinds, definition: t.plan.definitions, known: w.known } as Record<string, Record<string, string>>;
  return words[spec.options ?? ""]?.[text] ?? text;
}

function History({ kind, thing }: { kind: RegisterKind; thing: Kept }) {
  const w = t.registers;
  const lines: [string, string, string, Calibration["certificates"]?][] = [];
  const mark = (one: { at: string; by: string | null }) => [personName(one.by), momentText(one.at)].filter(Boolean).join(", ");
  if (kind === "eyewear") for (const one of (thing as EyewearPiece).inspections ?? []) lines.push([one.event_id, [w.outcomes[one.outcome], one.note].filter(Boolean).join(": "), mark(one)]);
  if (kind === "key") for (const one of (thing as LaserKey).movements ?? []) {
    lines.push([one.event_id, [one.direction === "out" ? w.tookOut(holderOf(one)) : w.broughtBack(holderOf(one)), one.note].filter(Boolean).join(": "), mark(one)]);
  }
  if (kind === "meter") for (const one of (thing as PowerMeter).calibrations ?? []) lines.push([one.event_id, calibrationText(one), mark(one), one.certificates]);
  if (thing.retired) lines.push([thing.retired.event_id, w.retiredBecause(thing.retired.reason), mark(thing.retired)]);
  if (lines.length === 0) return null;
  return (
    <section class="stack"><h2>{w.happened}</h2>
      <ul class="list" data-testid="register-history">{lines.reverse().map(([id, said, by, papers]) => <li key={id} class="item"><span class="grow"><span>{said}</span><span class="small soft">{by}</span><Papers papers={papers} /></span></li>)}</ul>
    </section>
  );
}

const calibrationText = (one: Calibration): string => [
  t.registers.calibratedOn(dayText(one.calibrated_on)), one.due_on ? t.registers.dueOn(dayText(one.due_on)) : null, one.certificate,
].filter(Boolean).join(", ");

function Inspect({ id }: { id: string }) {
  const w = t.registers;
  const outcome = useSignal<"" | "passed" | "failed">("");
  const note = useSignal("");
  const key = useSignal(newId());
  const lacks = outcome.value === "" || (outcome.value === "failed" && note.value.trim() === "");
  const save = () => void attempt(() => sayOf("eyewear.inspected", id, { outcome: outcome.value, note: note.value.trim() || null }, key.value)).then((held) => {
    if (!held) return;
    outcome.value = "";
    note.value = "";
    key.value = newId();
  });
  return (
    <section class="sheet"><h2>{w.inspect}</h2>
      <p class="small soft">{w.inspectLead}</p>
      <Choice id="inspect-outcome" legend={w.outcome} across value={outcome.value} options={(["passed", "failed"] as const).map((value) => ({ value, text: w.outcomes[value] }))}
        onChange={(value) => { outcome.value = value as "passed" | "failed"; key.value = newId(); }} />
      <TextField id="inspect-note" label={w.fields["note"]!} hint={outcome.value === "failed" ? w.failedNote : undefined} value={note.value} spell max={1000} onChange={(text) => { note.value = text; key.value = newId(); }} />
      <Press id="inspect-save" kind="main" disabled={lacks || busy.value || !writing.value} onPress={save}>{w.noteInspection}</Press>
    </section>
  );
}

const OTHER = "other";

function MoveKey({ id, held }: { id: string; held: LaserKey }) {
  const w = t.registers;
  const out = keyOut(held);
  const holder = useSignal(out?.holder_id ?? (out ? OTHER : person.value!.person_id));
  const name = useSignal(out?.holder_id ? "" : out?.holder ?? "");
  const key = useSignal(newId());
  const known = holder.value !== OTHER;
  const save = () => void attempt(() => sayOf("key.moved", id, {
    direction: out ? "in" : "out", holder_id: known ? holder.value : null, holder: known ? null : name.value.trim(), note: null,
  }, key.value)).then((done) => { if (done) key.value = newId(); });
  return (
    <section class="sheet"><h2>{out ? w.bringBack : w.takeOut}</h2>
      {out ? <p><Mark shape="wait" id="key-out">{w.keyWith(holderOf(out))}</Mark> <span class="small soft">{momentText(out.at)}</span></p> : <p class="small soft">{w.takeOutLead}</p>}
      <Select id="key-holder" label={out ? w.broughtBy : w.holder} value={holder.value} onChange={(value) => { holder.value = value; key.value = newId(); }}
        options={[...house.value.people.map((one) => ({ value: one.person_id, text: one.display_name })), { value: OTHER, text: w.somebodyElse }]} />
      {known ? null : <TextField id="key-holder-name" label={w.holderName} value={name.value} max={200} onChange={(text) => { name.value = text; key.value = newId(); }} />}
      <Press id="key-move" kind="main" disabled={(!known && !name.value.trim()) || busy.value || !writing.value} onPress={save}>{out ? w.noteBack : w.noteOut}</Press>
    </section>
  );
}

function Retire({ kind, id }: { kind: RegisterKind; id: string }) {
  const w = t.registers;
  const open = useSignal(false);
  const reason = useSignal("");
  const key = useSignal(newId());
  if (!open.value) return <Press id="register-retire" kind="quiet" onPress={() => { open.value = true; }}>{w.retire}</Press>;
  const save = () => void attempt(() => sayOf(`${kind}.retired`, id, { reason: reason.value.trim() }, key.value)).then((done) => { if (done) open.value = false; });
  return (
    <section class="sheet"><h2>{w.retire}</h2>
      <p class="small soft">{w.retireLead}</p>
      <TextField id="retire-reason" label={w.reason} value={reason.value} max={1000} spell focus onChange={(text) => { reason.value = text; key.value = newId(); }} />
      <div class="row"><Press id="retire-save" kind="main" disabled={!reason.value.trim() || busy.value || !writing.value} onPress={save}>{w.retireNow}</Press>
        <Press id="retire-drop" kind="quiet" onPress={() => { open.value = false; }}>{w.drop}</Press></div>
    </section>
  );
}
