import { Mark } from "../../parts/basics";
import type { ListVersion } from "../../session/types";
import { t } from "../../text";
import { difference, type Difference } from "./edit-form";

const WORDS: Record<Exclude<Difference, null>, () => string> = {
  "only here": () => t.lists.onlyHere,
  "other words": () => t.lists.otherWords,
  "other place": () => t.lists.otherPlace,
};

/** Two texts of one list side by side; what differs is said in a word at each item. */
export function SideBySide({ left, right, leftTitle, rightTitle }: {
  left: ListVersion; right: ListVersion; leftTitle: string; rightTitle: string;
}) {
  return (
    <div class="side" data-testid="side-by-side">
      <Column title={leftTitle} own={left} other={right} id="side-left" />
      <Column title={rightTitle} own={right} other={left} id="side-right" />
    </div>
  );
}

function Column({ title, own, other, id }: { title: string; own: ListVersion; other: ListVersion; id: string }) {
  return (
    <section class="stack" data-testid={id} aria-label={title}>
      <h3>{title}</h3>
      <p class={own.title === other.title ? "small" : "small other"}>{own.title}</p>
      <ItemList version={own} other={other} />
    </section>
  );
}

/** The items of a version as they are asked, under their groups, with what differs from another one. */
export function ItemList({ version, other }: { version: ListVersion; other?: ListVersion }) {
  return (
    <ol class="list">{version.items.map((item, i) => {
      const differs = other ? difference(item, version.items, other.items) : null;
      const group = item.group && item.group !== version.items[i - 1]?.group ? item.group : null;
      return (
        <li key={item.item_id} class="stack">
          {group ? <h3 class="group">{group}</h3> : null}
          <div class="item" data-testid="list-text">
            <span class={differs ? "grow small other" : "grow small"}>
              <span>{item.text}</span>
              {item.why ? <span class="soft">{item.why}</span> : null}
              {other && item.not_applicable && item.not_applicable !== "plain"
                ? <span class="soft">{t.lists.naRule}: {(t.lists.naRules[item.not_applicable] ?? item.not_applicable).toLowerCase()}</span> : null}
              {other && item.beside ? <span class="soft">{t.lists.besides[item.beside]}</span> : null}
              {differs ? <Mark shape="note">{WORDS[differs]()}</Mark> : null}
            </span>
          </div>
        </li>
      );
    })}</ol>
  );
}
