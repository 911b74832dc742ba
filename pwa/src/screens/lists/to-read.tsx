import { Glyph } from "../../parts/basics";
import { lists } from "../../session/house_lists";
import { toRead } from "../../session/lists";
import { person } from "../../session/state";
import { t } from "../../text";
import { href } from "../route";
import { dayText } from "./show";

/** On the first screen: lists this person has still to read. It stands beside the work and blocks none of it. */
export function ListsToRead() {
  const open = lists.value.flatMap((list) => {
    const version = toRead(list, person.value!);
    return version ? [{ list, version }] : [];
  });
  if (open.length === 0) return null;
  return (
    <section class="stack" aria-label={t.lists.acknowledge.title} data-testid="lists-to-read">
      <h2>{t.lists.acknowledge.title}</h2>
      <ul class="list">{open.map(({ list, version }) => (
        <li key={list.list_id}><a class="item" href={href("practice", "lists", list.list_id, "read")} data-testid="list-to-read">
          <span class="grow"><span class="strong">{t.lists.acknowledge.open(version.title, version.version)}</span>
            {comes(version.effective_from)}</span><Glyph shape="turn" /></a></li>
      ))}</ul>
    </section>
  );
}

const comes = (day: string | null | undefined) => (day ? <span class="small">{t.lists.acknowledge.when(dayText(day))}</span> : null);
