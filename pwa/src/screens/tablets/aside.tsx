import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { asideOf, type AsideEntry } from "../../sync/tablets";
import { t } from "../../text";
import { deskWords } from "../desk/papers";

/** What a tablet sent and the server put aside: when, of which kind, and why; never what it says. */
export function Aside({ tablet_id, count }: { tablet_id: string; count: number }) {
  const w = t.tablets;
  const found = useSignal<AsideEntry[] | null>(null);
  const next = useSignal<number | null>(null);
  const wrong = useSignal<string | null>(null);
  const load = async (before: number | null) => {
    try {
      const page = await asideOf(tablet_id, before);
      found.value = [...(before === null ? [] : found.value ?? []), ...page.entries];
      next.value = page.next_before;
      wrong.value = null;
    } catch (error) {
      wrong.value = deskWords(error);
    }
  };
  return (
    <section class="sheet" data-testid="aside">
      <h2>{w.asideTitle}</h2>
      <p class="small">{w.asideLead}</p>
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {found.value === null ? <Press id="aside-open" onPress={() => void load(null)}>{w.asideOpen(count)}</Press> : (
        <>
          <ul class="list" data-testid="aside-entries">{found.value.map((one) => (
            <li class="item" key={one.position}><span class="grow">
              <span class="strong">{w.reasons[one.reason ?? ""] ?? one.reason}</span>
              <span class="small soft">{momentText(one.received_at)}{one.type ? `, ${one.type}` : ""}</span></span></li>
          ))}</ul>
          {next.value === null ? null : <Press id="aside-more" onPress={() => void load(next.value)}>{t.desk.more}</Press>}
        </>
      )}
    </section>
  );
}
