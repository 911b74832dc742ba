import { useSignal } from "@preact/signals";
import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { Tick } from "../../parts/fields";
import { eyewearLacking, inUse, things, type Kept, type KeptHandpiece, type LaserKey, keyOut, type RegisterKind } from "../../session/registers";
import { may } from "../../session/rights";
import { writing } from "../../session/state";
import { t } from "../../text";
import { go, href } from "../route";
import { factsOf, roomOf, troubleOf, usesText, whereOf } from "./describe";
import { today } from "./form";

/** One register: what is in use, and on demand what is not any more. */
export function Register({ kind }: { kind: RegisterKind }) {
  const w = t.registers;
  const retired = useSignal(false);
  const all = things(kind);
  const shown = all.filter(({ thing }) => inUse(thing) || retired.value);
  return (
    <div class="page">
      <h1>{w.kinds[kind].title}</h1>
      <p class="soft">{w.kinds[kind].lead}</p>
      {kind === "eyewear" ? eyewearLacking.value.map((lack) => (
        <Notice key={`${lack.room_id}-${lack.device.device_id}`} shape="warn" id="eyewear-lacking"><p>{w.lacking(roomOf(lack.room_id) ?? "", lack.device.label, lack.good, lack.heads)}</p></Notice>
      )) : null}
      {may("device.write") ? <Press id="register-add" kind="main" large disabled={!writing.value} onPress={() => go("practice", "registers", kind, "new")}>{w.kinds[kind].add}</Press> : null}
      {shown.length === 0 ? <p class="soft" data-testid="register-empty">{w.empty}</p> : null}
      <ul class="list">{shown.map(({ id, thing }) => <Entry key={id} kind={kind} id={id} thing={thing} />)}</ul>
      {all.some(({ thing }) => !inUse(thing)) ? <Tick id="register-retired" checked={retired.value} onChange={(on) => { retired.value = on; }}>{w.showRetired}</Tick> : null}
      <a class="button quiet" href={href("practice", "registers")}>{w.title}</a>
    </div>
  );
}

function Entry({ kind, id, thing }: { kind: RegisterKind; id: string; thing: Kept }) {
  const trouble = troubleOf(kind, thing, today());
  const where = whereOf(kind, thing);
  return (
    <li><a class="item" href={href("practice", "registers", kind, id)} data-testid="register-thing">
      <span class="grow"><span class="strong">{thing.label}</span>
        <span class="small">{factsOf(kind, thing)}</span>
        {where ? <span class="small">{where}</span> : null}
        {kind === "handpiece" ? <span class="small num">{usesText(thing as KeptHandpiece)}</span> : null}
        {kind === "key" && inUse(thing) && keyOut(thing as LaserKey) ? <Mark shape="wait">{t.registers.out}</Mark> : null}
        {trouble ? <Mark shape="warn">{trouble}</Mark> : null}</span>
      <Glyph shape="turn" /></a></li>
  );
}
