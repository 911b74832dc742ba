import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { told } from "../../session/people";
import { may } from "../../session/rights";
import { person as signedIn } from "../../session/state";
import type { Person } from "../../session/types";
import { deskPersonHistory, type PersonLine } from "../../sync/desk-people";
import { t } from "../../text";
import { begin } from "../../text/begin";
import { words } from "../attempt";
import { dayText } from "../day";
import { go, href } from "../route";
import { Qualifications } from "./credentials";
import { LinkFor } from "./link";
import { auditorOver, rolesText } from "./words";

/** One person: roles, the way to a password, and everything that was said of them. */
export function OnePerson({ person }: { person: Person }) {
  const writes = may("people.write");
  // Whoever looks after people but is no administrator leaves administrators alone; the server refuses too.
  const able = writes && (!person.roles.includes("administrator") || Boolean(signedIn.value?.roles.includes("administrator")));
  const open = (mode: string) => go("practice", "people", person.person_id, mode);
  return (
    <div class="page">
      <h1>{person.display_name} <span class="soft">({person.initials})</span></h1>
      {person.left_at ? (
        <Notice shape="stop" id="person-left"><p class="strong">{t.people.endedOn(momentText(person.left_at))}</p>
          {person.left_because ? <p>{t.people.endedWhy(person.left_because)}</p> : null}</Notice>
      ) : (
        <dl class="fact-tiles">
          <div class="fact"><dt class="small soft">{t.people.rolesOf}</dt><dd data-testid="person-roles">{rolesText(person.roles)}</dd></div>
          {person.credential ? <div class="fact"><dt class="small soft">{t.people.credential}</dt><dd>{person.credential}</dd></div> : null}
        </dl>
      )}
      {!person.left_at && person.roles.includes("auditor")
        ? <p>{auditorOver(person) ? <Mark shape="stop">{t.people.auditorOver}</Mark> : <Mark shape="wait">{t.people.auditorUntil(dayText(person.auditor_until))}</Mark>}</p> : null}
      {able && !person.left_at ? (
        <div class="row">
          <Press id="person-change" onPress={() => open("change")}>{t.people.change}</Press>
          <Press id="person-end" onPress={() => open("end")}>{t.people.end}</Press>
        </div>
      ) : null}
      {able && person.left_at ? <div class="stack"><p class="soft">{t.people.comeBackHint}</p><div class="row"><Press id="person-again" onPress={() => open("change")}>{t.people.comeBack}</Press></div></div> : null}
      <Qualifications person={person} />
      {able && !person.left_at ? <LinkFor person={person} /> : null}
      <History person={person} />
      <a class="button quiet" href={href("practice", "people")}>{t.people.all}</a>
    </div>
  );
}

function History({ person }: { person: Person }) {
  const lines = useSignal<PersonLine[] | null>(null);
  const failed = useSignal<string | null>(null);
  useEffect(() => {
    deskPersonHistory(person.person_id).then((found) => { lines.value = found; }, (error: unknown) => { failed.value = words(error); });
  }, [person]);
  return (
    <section class="stack">
      <h2>{t.people.history.title}</h2>
      <p class="small soft">{t.people.history.lead}</p>
      {failed.value ? <Notice shape="warn" live><p>{failed.value}</p></Notice> : null}
      {lines.value === null && !failed.value ? <p role="status">{t.common.loading}</p> : null}
      <ol class="list">{(lines.value ?? []).map((line) => (
        <li class="item" key={line.event_id} data-testid="person-line">
          <span class="grow"><span class="small soft">{momentText(line.at)}</span>
            {told(line, t.people, t.common.unknownPerson, dayText).map((sentence, i) => <span key={i}>{begin(sentence)}</span>)}</span>
        </li>
      ))}</ol>
    </section>
  );
}
