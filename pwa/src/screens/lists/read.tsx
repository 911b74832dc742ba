import { Mark, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { acknowledgeList } from "../../session/commands_lists";
import { house, personName } from "../../session/house";
import { houseZone } from "../../session/house_lists";
import { askedVersion, AT_THE_CHAIR, inForce, toRead } from "../../session/lists";
import { person, writing } from "../../session/state";
import type { ListDocument } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go, href } from "../route";
import { ItemList } from "./side";
import { dayText } from "./show";

/** The text in full, and one press that says it was read. */
export function ReadList({ list }: { list: ListDocument }) {
  const version = toRead(list, person.value!);
  const shown = version ?? inForce(list, Date.now(), houseZone()) ?? list;
  const said = [...(list.acknowledged_by ?? [])].reverse().find((one) => one.person_id === person.value!.person_id);
  const acknowledge = () => void attempt(() => acknowledgeList(list.list_id, shown.version))
    .then((done) => { if (done) go("practice", "lists", list.list_id); });
  return (
    <div class="page narrow">
      <h1>{shown.title}</h1>
      <p class="soft">{t.lists.version(shown.version)}{shown.effective_from ? `, ${t.lists.fromDay(dayText(shown.effective_from))}` : ""}</p>
      <ItemList version={shown} />
      {version
        ? <Press id="list-acknowledge" kind="main" large wide disabled={busy.value || !writing.value} onPress={acknowledge}>{t.lists.acknowledge.press(shown.version)}</Press>
        : said ? <Mark shape="done" id="list-acknowledged">{t.lists.acknowledge.done(said.version, momentText(said.at))}</Mark> : null}
      <a class="button quiet" href={href("practice", "lists", list.list_id)}>{t.lists.backToList}</a>
    </div>
  );
}

/** Who has read the version that asks for it, and who has not, by name. */
export function Readers({ list }: { list: ListDocument }) {
  const wanted = askedVersion(list);
  return (
    <section class="stack" data-testid="list-readers">
      <h2>{t.lists.acknowledge.who}</h2>
      {wanted === null ? <p class="small soft">{t.lists.acknowledge.nobody}</p> : (
        <ul class="stack">{house.value.people.filter((one) => one.roles.some((role) => AT_THE_CHAIR.includes(role))).map((one) => {
          const said = (list.acknowledged_by ?? []).find((ack) => ack.person_id === one.person_id && ack.version >= wanted.version);
          const name = personName(one.person_id) ?? t.common.unknownPerson;
          return (
            <li key={one.person_id}>{said
              ? <Mark shape="done" id="list-has-read">{name}: {t.lists.acknowledge.has(said.version, momentText(said.at))}</Mark>
              : one.person_id === wanted.published_by ? <Mark shape="note">{name}: {t.lists.acknowledge.wrote}</Mark>
              : <Mark shape="wait" id="list-has-not-read">{name}: {t.lists.acknowledge.hasNot}</Mark>}</li>
          );
        })}</ul>
      )}
    </section>
  );
}
