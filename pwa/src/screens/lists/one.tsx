import { useSignal } from "@preact/signals";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { TextField } from "../../parts/fields";
import { setDraftAside } from "../../session/commands_lists";
import { draft } from "../../session/draft";
import { personName } from "../../session/house";
import { houseZone } from "../../session/house_lists";
import { inForce, toRead, upcoming, versionsOf } from "../../session/lists";
import { may } from "../../session/rights";
import { person, writing } from "../../session/state";
import type { ListDocument, ListDraft, ListVersion } from "../../session/types";
import { eventsOf } from "../../session/written";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go, href } from "../route";
import { editDraft } from "./edit-draft";
import { fromVersion } from "./edit-form";
import { InForceLine } from "./in-force";
import { Readers } from "./read";
import { ItemList, SideBySide } from "./side";
import { dayText } from "./show";

const nameOf = (id: string | null | undefined): string => personName(id) ?? t.common.unknownPerson;

/** One list: what is in force, what is to come, who has read it, what waits for a decision, and its history. */
export function OneList({ list }: { list: ListDocument }) {
  const officer = may("list.write");
  const now = Date.now();
  const version = inForce(list, now, houseZone());
  const versions = versionsOf(list);
  const waiting = eventsOf(list.list_id).some((e) => e.state === "waiting");
  const begun = officer && editDraft(list.list_id).value.value !== null;
  return (
    <div class="page">
      <header class="stack">
        <h1>{list.title}</h1>
        <p class="soft">{t.lists.kinds[list.kind] ?? list.kind}</p>
        <InForceLine list={list} />
        {waiting ? <Mark shape="tablet" id="list-waits">{t.lists.waits}</Mark> : null}
      </header>
      {toRead(list, person.value!) ? (
        <Notice shape="note" id="list-to-read"><p>{t.lists.toRead}</p>
          <a class="button" href={href("practice", "lists", list.list_id, "read")} data-testid="list-read">{t.lists.acknowledge.read}</a></Notice>
      ) : null}
      {officer ? (list.drafts ?? []).map((one) => <Draft key={one.event_id} list={list} draft={one} />) : null}
      <div class="two">
        <section class="stack">
          {version ? <><h2>{t.lists.inForce}: {t.lists.version(version.version).toLowerCase()}</h2><ItemList version={version} /></> : null}
          {upcoming(list, now, houseZone()).map((one) => (
            <More key={one.version} id={`list-upcoming-${one.version}`} title={t.lists.comingOn(one.version, dayText(one.effective_from!))}><ItemList version={one} {...(version ? { other: version } : {})} /></More>
          ))}
        </section>
        <section class="stack">
          {officer ? <Press id="list-edit" kind="main" wide disabled={!writing.value} onPress={() => go("practice", "lists", list.list_id, "edit")}>{begun ? t.lists.goOnEditing : t.lists.edit}</Press> : null}
          {officer ? <Readers list={list} /> : null}
          <h2>{t.lists.history}</h2>
          {[...versions].reverse().map((one) => (
            <More key={one.event_id ?? one.version} id={`list-version-${one.version}`} title={`${t.lists.version(one.version)}, ${whenText(one)}`}>
              <p class="small soft">{t.lists.publishedBy(nameOf(one.published_by), momentText(one.published_at))}{one.needs_acknowledgement ? `, ${t.lists.acknowledgementAsked}` : ""}</p>
              <ItemList version={one} />
            </More>
          ))}
          {(list.set_aside ?? []).map((one) => (
            <More key={one.event_id} id="list-set-aside" title={t.lists.setAsideBy(nameOf(one.set_aside.by), momentText(one.set_aside.at), one.set_aside.reason ?? "")}><ItemList version={one} /></More>
          ))}
        </section>
      </div>
      <a class="button quiet" href={href("practice", "lists")} data-testid="lists-all">{t.lists.back}</a>
    </div>
  );
}

const whenText = (version: ListVersion): string =>
  version.effective_from ? t.lists.fromDay(dayText(version.effective_from)) : t.lists.atOnce;

/** Two versions were built on one: what is in force stands; somebody decides about the other. */
function Draft({ list, draft: one }: { list: ListDocument; draft: ListDraft }) {
  const setting = useSignal(false);
  const reason = draft<string>(`list-aside:${person.value!.person_id}:${one.event_id}`, "");
  const last = versionsOf(list)[versionsOf(list).length - 1]!;
  const take = () => {
    editDraft(list.list_id).set(fromVersion(one, last.version, one.event_id ?? null));
    go("practice", "lists", list.list_id, "edit");
  };
  const aside = () => void attempt(async () => {
    await setDraftAside(list.list_id, one.event_id!, reason.value.value.trim());
  }).then((done) => { if (done) reason.clear(); });
  return (
    <section class="sheet" data-testid="list-draft">
      <h2>{t.lists.drafts}</h2>
      <p class="small">{t.lists.draftWhy}</p>
      <p class="small soft">{t.lists.draftOf(nameOf(one.published_by), momentText(one.published_at), one.base_version ?? 0)}</p>
      <SideBySide left={last} right={one} leftTitle={t.lists.current(last.version)} rightTitle={t.lists.draft} />
      <div class="row">
        <Press id="draft-take" onPress={take}>{t.lists.take}</Press>
        <Press id="draft-aside" onPress={() => { setting.value = !setting.value; }} pressed={setting.value}>{t.lists.setAside}</Press>
      </div>
      {setting.value ? (
        <div class="stack">
          <TextField id="draft-aside-reason" label={t.lists.setAsideReason} value={reason.value.value} onChange={reason.set} max={1000} spell focus />
          <Press id="draft-aside-go" disabled={!reason.value.value.trim() || busy.value || !writing.value} onPress={aside}>{t.lists.setAside}</Press>
        </div>
      ) : null}
    </section>
  );
}
