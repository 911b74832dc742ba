import { Mark, Press } from "../../parts/basics";
import { house } from "../../session/house";
import { CREDENTIAL_KINDS, scopeAt, type Credential } from "../../session/operators";
import { may } from "../../session/rights";
import type { Person } from "../../session/types";
import { t } from "../../text";
import { dayText } from "../day";
import { go } from "../route";
import { today } from "./words";

/** What proves that somebody may operate, and what they may do here. */
export function Qualifications({ person }: { person: Person }) {
  const w = t.people.operator;
  const held = (person.credentials ?? []).filter((one) => one.ended_at === null);
  const scope = scopeAt(person, Infinity);
  const writes = may("operator.write") && !person.left_at;
  const open = (mode: string) => go("practice", "people", person.person_id, mode);
  return (
    <section class="stack">
      <h2>{w.title}</h2>
      {held.length === 0 ? <p data-testid="credentials-none">{person.licence_expires ? w.asBefore(dayText(person.licence_expires)) : w.none}</p> : (
        <ul class="list">{held.map((one) => (
          <li class="item" key={one.credential_id} data-testid="credential">
            <span class="grow"><span class="strong">{w.kinds[one.kind]}: {one.text}</span><span class="small">{about(one)}</span>
              {one.expires_on && one.expires_on < today() ? <Mark shape="warn">{w.over}</Mark> : null}</span>
            {writes ? <Press id={`credential-change-${one.kind}`} kind="quiet" label={`${w.changeOne}: ${one.text}`} onPress={() => open(`credential-${one.credential_id}`)}>{w.changeOne}</Press> : null}
          </li>))}</ul>
      )}
      <p data-testid="scope-now">{w.scope}: {scope ? [
        scope.device_ids ? names(scope.device_ids, (id) => house.value.devices.find((one) => one.device_id === id)?.label) : w.allDevices,
        scope.procedure_kind_ids ? names(scope.procedure_kind_ids, (id) => house.value.kinds.find((one) => one.procedure_kind_id === id)?.text) : w.allKinds,
        w.needs((scope.needs ?? CREDENTIAL_KINDS.slice(0, 1)).map((one) => w.kinds[one]).join(", ")),
      ].join("; ") : w.noScope}</p>
      {writes ? <div class="row">
        <Press id="credential-new" onPress={() => open("credential")}>{w.add}</Press>
        <Press id="scope-change" onPress={() => open("scope")}>{w.changeScope}</Press>
      </div> : null}
    </section>
  );
}

const names = (ids: readonly string[], name: (id: string) => string | undefined): string =>
  ids.length === 0 ? t.people.operator.nothing : ids.map((id) => name(id) ?? id).join(", ");

function about(one: Credential): string {
  const w = t.people.operator;
  const device = one.device_id ? house.value.devices.find((each) => each.device_id === one.device_id)?.label : null;
  return [device, one.hours ? w.hours(one.hours) : null, one.issued_on ? w.issued(dayText(one.issued_on)) : null,
    one.expires_on ? w.until(dayText(one.expires_on)) : w.noEnd].filter(Boolean).join(", ");
}
