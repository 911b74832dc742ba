import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { seat } from "../../session/state";
import {
  endLocationSession, endOtherSessions, endSession, locationSessions, ownSessions, type OpenSession,
} from "../../sync/access";
import { t } from "../../text";
import { words } from "../attempt";
import { href } from "../route";

/** One's own sessions, here and elsewhere. */
export function OwnSessions() {
  const w = t.access.sessions;
  const on_tablet = seat.value === "tablet";
  const list = useList(() => ownSessions(on_tablet));
  const others = (list.found.value ?? []).filter((one) => !one.here);
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      <List list={list} name={() => null} onEnd={(one) => endSession(one.session_id, on_tablet)} />
      {others.length > 1 ? <Press id="end-others" onPress={() => list.end(() => endOtherSessions(on_tablet))}>{w.others}</Press> : null}
      <a class="button quiet" href={href("settings")}>{t.access.own.back}</a>
    </div>
  );
}

/** Everybody's sessions at this location, for its administrator. */
export function LocationSessions() {
  const w = t.access.sessions;
  const list = useList(locationSessions);
  return (
    <div class="page">
      <h1>{w.allTitle}</h1>
      <p class="soft">{w.allLead}</p>
      <List list={list} name={(one) => one.person_name ?? t.common.unknownPerson} onEnd={(one) => endLocationSession(one.session_id)} />
      <a class="button quiet" href={href("practice")}>{w.back}</a>
    </div>
  );
}

function useList(ask: () => Promise<OpenSession[]>) {
  const found = useSignal<OpenSession[] | null>(null);
  const failed = useSignal<string | null>(null);
  const ended = useSignal(false);
  const load = () => ask().then((list) => { found.value = list; }, (error: unknown) => {
    failed.value = (error as { code?: string }).code === "person_needed" ? t.access.sessions.offline : words(error);
  });
  useEffect(() => { void load(); }, []);
  const end = (work: () => Promise<void>) => {
    failed.value = null;
    ended.value = false;
    work().then(() => { ended.value = true; return load(); }, (error: unknown) => { failed.value = words(error); return load(); });
  };
  return { found, failed, ended, end };
}

function List({ list, name, onEnd }: { list: ReturnType<typeof useList>; name: (one: OpenSession) => string | null; onEnd: (one: OpenSession) => Promise<void> }) {
  const w = t.access.sessions;
  const found = list.found.value;
  const place = (one: OpenSession) => one.kind === "desk" ? `${w.desk}: ${one.agent ?? w.unknown}` : `${w.tablet}: ${one.tablet_label ?? t.common.notStated}`;
  return (
    <>
      {list.failed.value ? <Notice shape="warn" id="sessions-failed" live><p>{list.failed.value}</p></Notice> : null}
      {list.ended.value ? <Notice calm shape="done" id="session-ended" live><p>{w.ended}</p></Notice> : null}
      {found === null && !list.failed.value ? <p role="status">{t.common.loading}</p> : null}
      <ul class="list" data-testid="sessions">{(found ?? []).map((one) => (
        <li class="item wraps" key={one.session_id} data-testid={one.here ? "session-here" : "session"}>
          <Glyph shape={one.kind === "desk" ? "cloud" : "tablet"} />
          <span class="grow">{name(one) ? <span class="strong">{name(one)}</span> : null}
            <span class={name(one) ? "" : "strong"}>{place(one)}</span>
            {one.location_name ? <span class="small">{one.location_name}</span> : null}
            {one.works_at ? <span class="small" data-testid="session-guest">{w.guest(one.works_at)}</span> : null}
            <span class="small">{w.began(momentText(one.began_at))}, {w.used(momentText(one.used_at))}</span></span>
          {one.here ? <Mark shape="done">{w.here}</Mark>
            : <Press id="session-end" label={w.endOf(name(one) ?? place(one))} onPress={() => list.end(() => onEnd(one))}>{w.end}</Press>}
        </li>
      ))}</ul>
    </>
  );
}
