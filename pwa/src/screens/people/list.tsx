import { Glyph, Mark, Press } from "../../parts/basics";
import { dateText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { house } from "../../session/house";
import { may } from "../../session/rights";
import { places } from "../../session/state";
import type { Person } from "../../session/types";
import { t } from "../../text";
import { dayText } from "../day";
import { go, href } from "../route";
import { auditorOver, rolesText } from "./words";

/** Who works here, and who did. */
export function PeopleList() {
  const { people, left } = house.value;
  return (
    <div class="page">
      <h1>{t.people.title}</h1>
      <p class="soft">{t.people.lead}</p>
      {may("people.write") ? <div class="row"><Press id="person-new" kind="main" onPress={() => go("practice", "people", "new")}>{t.people.add}</Press>
        {may("location.write") && places.value.length > 1 ? <Press id="person-elsewhere" onPress={() => go("practice", "people", "elsewhere")}>{t.people.elsewhere.offer}</Press> : null}</div> : null}
      {people.length === 0 ? <p>{t.people.none}</p> : <Rows people={people} />}
      {left.length > 0 ? <More id="people-left" title={t.people.ended(left.length)}><Rows people={left} /></More> : null}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function Rows({ people }: { people: readonly Person[] }) {
  return (
    <ul class="list">{people.map((one) => (
      <li key={one.person_id}>
        <a class="item" href={href("practice", "people", one.person_id)} data-testid="person-row">
          <span class="grow">
            <span class="strong">{one.display_name} <span class="soft">({one.initials})</span></span>
            <span class="small">{one.left_at ? t.people.endedOn(dateText(one.left_at)) : rolesText(one.roles)}</span>
            {!one.left_at && one.roles.includes("auditor")
              ? auditorOver(one) ? <Mark shape="stop">{t.people.auditorOver}</Mark> : <Mark shape="wait">{t.people.auditorUntil(dayText(one.auditor_until))}</Mark> : null}
          </span>
          <Glyph shape="turn" />
        </a>
      </li>
    ))}</ul>
  );
}
