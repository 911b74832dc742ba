import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { Choice } from "../../parts/fields";
import { may } from "../../session/rights";
import { asidePage, type AsideEntry, type AsideState } from "../../sync/aside";
import { t } from "../../text";
import { deskWords } from "../desk/papers";
import { useRegisters } from "../registers";
import { href } from "../route";
import { AsideGroup } from "./group";
import { groupsOf } from "./groups";

/** What tablets sent and the server put aside, of all of them or of one. */
export function Aside({ tablet_id }: { tablet_id: string | null }) {
  const w = t.aside;
  const state = useSignal<AsideState>("waiting");
  const found = useSignal<AsideEntry[] | null>(null);
  const waiting = useSignal(0);
  const next = useSignal<number | null>(null);
  const wrong = useSignal<string | null>(null);
  const said = useSignal<string | null>(null);
  const names = useRegisters();
  const load = async (before: number | null) => {
    const wanted = state.value;
    try {
      const page = await asidePage(wanted, tablet_id, before);
      // Somebody may have gone on to the others while this one was on the way.
      if (state.value !== wanted) return;
      found.value = [...(before === null ? [] : found.value ?? []), ...page.entries];
      next.value = page.next_before;
      waiting.value = page.waiting;
      wrong.value = null;
    } catch (error) {
      wrong.value = deskWords(error);
    }
  };
  const look = (which: AsideState) => { state.value = which; found.value = null; said.value = null; void load(null); };
  useEffect(() => look("waiting"), [tablet_id]);
  if (!may("aside.read")) return <div class="page"><h1>{w.title}</h1><p>{t.desk.notAllowed}</p></div>;
  const groups = found.value === null || names === null ? null : groupsOf(found.value);
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      {tablet_id === null ? null : <p>{w.ofTablet} <a class="button quiet" href={href("practice", "aside")} data-testid="aside-all">{w.all}</a></p>}
      <Choice id="aside-which" legend={w.which} across value={state.value} onChange={(which) => look(which as AsideState)}
        options={[{ value: "waiting", text: w.waiting }, { value: "decided", text: w.decided }]} />
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {said.value ? <Notice shape="done" id="aside-said" live><p>{said.value}</p></Notice> : null}
      {groups === null ? (wrong.value ? null : <p role="status">{t.common.loading}</p>)
        : groups.length === 0 ? <p data-testid="aside-none">{state.value === "waiting" ? w.none : w.noneDecided}</p>
        : <>{state.value === "waiting" ? <p class="strong" role="status">{w.count(waiting.value)}</p> : null}
            {groups.map((group) => <AsideGroup key={group.key} group={group} onDone={async (done) => { said.value = done; await load(null); }} />)}</>}
      {next.value === null ? null : <Press id="aside-more" onPress={() => void load(next.value)}>{t.desk.more}</Press>}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}
