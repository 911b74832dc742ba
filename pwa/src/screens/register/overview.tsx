import { Glyph, Mark, Notice } from "../../parts/basics";
import { may } from "../../session/rights";
import { dueNow, eyewearLacking, inUse, keyOut, keys, REGISTERS, things } from "../../session/registers";
import { seat } from "../../session/state";
import { t } from "../../text";
import { href } from "../route";
import { DueLines } from "./due-lines";
import { roomOf } from "./describe";

/** All registers, what is due of them, and what else is kept elsewhere. */
export function Overview() {
  const w = t.registers;
  const desk = seat.value === "desk";
  const out = keys.value.filter((key) => inUse(key) && keyOut(key));
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      {eyewearLacking.value.map((lack) => (
        <Notice key={`${lack.room_id}-${lack.device.device_id}`} shape="warn" id="eyewear-lacking"><p>{w.lacking(roomOf(lack.room_id) ?? "", lack.device.label, lack.good, lack.heads)}
          {lack.density === null ? "" : ` ${w.lackingDensity(String(Math.ceil(lack.density * 10) / 10))}`}</p></Notice>
      ))}
      <DueLines rows={dueNow(Date.now())} />
      <ul class="list">{REGISTERS.map((kind) => (
        <li key={kind}><a class="item" href={href("practice", "registers", kind)} data-testid={`register-${kind}`}>
          <span class="grow"><span class="strong">{w.kinds[kind].title}</span>
            <span class="small">{w.count(things(kind).filter(({ thing }) => inUse(thing)).length)}</span>
            {kind === "key" && out.length > 0 ? <Mark shape="wait">{w.keysOut(out.length)}</Mark> : null}</span>
          <Glyph shape="turn" /></a></li>
      ))}</ul>
      <h2>{w.sheets}</h2>
      <ul class="list">
        <Line id="registers-inventory" to={href("practice", "registers", "inventory")} title={w.inventory.title} about={w.inventory.about} />
        <Line id="registers-labels" to={href("practice", "registers", "labels")} title={w.labels.title} about={w.labels.about} />
        <Line id="registers-due" to={href("practice", "registers", "due")} title={w.due.rules} about={w.due.rulesAbout} />
      </ul>
      <h2>{w.elsewhere}</h2>
      <ul class="list">
        <Line id="registers-rooms" to={href("practice", "rooms")} title={t.practice.pages.rooms.title} about={w.rooms} />
        {desk && may("people.read") ? <Line id="registers-people" to={href("practice", "people")} title={t.practice.pages.people.title} about={w.people} /> : null}
        {desk && may("retention.read") ? <Line id="registers-erasures" to={href("practice", "erasures")} title={t.practice.pages.erasures.title} about={t.practice.pages.erasures.about} /> : null}
      </ul>
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function Line({ id, to, title, about }: { id: string; to: string; title: string; about: string }) {
  return <li><a class="item" href={to} data-testid={id}><span class="grow"><span class="strong">{title}</span><span class="small">{about}</span></span><Glyph shape="turn" /></a></li>;
}
