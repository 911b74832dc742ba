import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { house } from "../../session/house";
import { lists } from "../../session/house_lists";
import { DEVICE_KINDS } from "../../session/check-verdict";
import { KINDS, missing, toRead } from "../../session/lists";
import { may } from "../../session/rights";
import { person, writing } from "../../session/state";
import type { ListDocument } from "../../session/types";
import { t } from "../../text";
import { OffersWait } from "../group/offers";
import { useRegisters } from "../registers";
import { go, href } from "../route";
import { EditList } from "./edit";
import { InForceLine } from "./in-force";
import { OneList } from "./one";
import { ReadList } from "./read";

/** The practice's lists: all of them, one of them, reading it, or changing it. */
export function Lists({ list_id, mode }: { list_id: string | null; mode: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const list = lists.value.find((one) => one.list_id === list_id) ?? null;
  const writer = may("list.write");
  if (list_id === "new" && writer && [...KINDS, ...DEVICE_KINDS].some((kind) => kind === mode)) return <EditList list={null} kind={mode!} preview={false} />;
  if (!list) return <Overview />;
  if (mode === "read") return <ReadList list={list} />;
  if ((mode === "edit" || mode === "preview") && writer) return <EditList list={list} kind={list.kind} preview={mode === "preview"} />;
  return <OneList list={list} />;
}

function Overview() {
  return (
    <div class="page">
      <h1>{t.lists.title}</h1>
      <p class="soft">{t.lists.lead}</p>
      <OffersWait kind="list" />
      <h2>{t.lists.around}</h2>
      {KINDS.map((kind) => <OfKind key={kind} kind={kind} />)}
      <h2>{t.lists.aboutLaser}</h2>
      <a class="button quiet" href={href("practice", "checks")} data-testid="lists-checks">{t.lists.toChecks}</a>
      {DEVICE_KINDS.map((kind) => <OfKind key={kind} kind={kind} />)}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function OfKind({ kind }: { kind: string }) {
  const of = lists.value.filter((list) => list.kind === kind);
  return (
    <section class="stack" aria-label={t.lists.kinds[kind]}>
      <h3>{t.lists.kinds[kind]}</h3>
      {of.length === 0 ? (
        <div class="row"><Mark shape="warn">{t.lists.notWritten}</Mark>
          {may("list.write") ? <Press id={`list-write-${kind}`} label={`${t.lists.write}: ${t.lists.kinds[kind] ?? kind}`} disabled={!writing.value} onPress={() => go("practice", "lists", "new", kind)}>{t.lists.write}</Press> : null}</div>
      ) : <ul class="list">{of.map((list) => <Entry key={list.list_id} list={list} />)}</ul>}
    </section>
  );
}

function Entry({ list }: { list: ListDocument }) {
  const officer = may("list.write");
  const unread = officer ? missing(list, house.value.people).length : 0;
  const mine = toRead(list, person.value!) !== null;
  const drafts = officer ? (list.drafts ?? []).length : 0;
  return (
    <li>
      <a class="item" href={href("practice", "lists", list.list_id)} data-testid={`list-${list.kind}`}>
        <span class="grow"><span class="strong">{list.title}</span>
          <InForceLine list={list} />
          {drafts > 0 ? <Mark shape="warn">{t.lists.conflict(drafts)}</Mark> : null}
          {unread > 0 ? <Mark shape="wait">{t.lists.missing(unread)}</Mark> : null}
          {mine ? <Mark shape="warn">{t.lists.toRead}</Mark> : null}</span>
        <Glyph shape="turn" />
      </a>
    </li>
  );
}
