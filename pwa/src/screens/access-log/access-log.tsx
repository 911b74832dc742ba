import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { Select, TextField } from "../../parts/fields";
import { may } from "../../session/rights";
import { ACTIONS, exportAccesses, searchAccesses, type Access, type AccessWanted } from "../../sync/access-log";
import { deskRegister } from "../../sync/desk";
import { t } from "../../text";
import { DayField } from "../day";
import { deskWords } from "../desk/papers";
import { href } from "../route";
import { Line } from "./line";

const NOTHING = { person_id: "", record_id: "", chart_number: "", action: "", from: "", to: "" };

/** Who read, changed, exported or was refused what, when and where. */
export function AccessLog() {
  const w = t.accessLog;
  const wanted = useSignal<Required<AccessWanted>>(NOTHING);
  const found = useSignal<Access[] | null>(null);
  const next = useSignal<string | null>(null);
  const people = useSignal<{ value: string; text: string }[]>([]);
  const wrong = useSignal<string | null>(null);
  const busy = useSignal(false);
  const run = async (work: () => Promise<void>) => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      await work();
    } catch (error) {
      const { code } = error as { code?: string };
      wrong.value = code === "too_many_rows" ? w.tooMany : deskWords(error);
      found.value ??= [];
    } finally {
      busy.value = false;
    }
  };
  const look = (cursor: string | null) => run(async () => {
    const page = await searchAccesses(wanted.value, cursor);
    found.value = [...(cursor === null ? [] : found.value ?? []), ...page.entries];
    next.value = page.next_cursor;
  });
  const save = () => run(async () => {
    const url = URL.createObjectURL(await exportAccesses(wanted.value));
    const link = document.createElement("a");
    link.href = url;
    link.download = "access-log.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 60_000);
  });
  useEffect(() => {
    if (!may("log.read")) return;
    void look(null);
    deskRegister("person").then((rows) => {
      people.value = (rows as { person_id: string; display_name: string }[])
        .map((one) => ({ value: one.person_id, text: one.display_name })).sort((a, b) => a.text.localeCompare(b.text));
    }, () => undefined);
  }, []);
  if (!may("log.read")) return <div class="page"><h1>{w.title}</h1><p>{t.desk.notAllowed}</p></div>;
  const set = (change: Partial<AccessWanted>) => { wanted.value = { ...wanted.value, ...change }; };
  const narrow = (change: Partial<AccessWanted>) => { wanted.value = { ...NOTHING, ...change }; void look(null); };
  const v = wanted.value;
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      <form class="sheet" data-testid="log-filter" onSubmit={(e) => { e.preventDefault(); void look(null); }}>
        <div class="two">
          <Select id="log-person" label={w.person} value={v.person_id} onChange={(person_id) => set({ person_id })} options={[{ value: "", text: w.everybody }, ...people.value]} />
          <Select id="log-action" label={w.action} value={v.action} onChange={(action) => set({ action })}
            options={[{ value: "", text: w.everything }, ...ACTIONS.map((one) => ({ value: one, text: w.groups[one] }))]} />
          <DayField id="log-from" label={w.from} value={v.from} onChange={(from) => set({ from })} />
          <DayField id="log-to" label={w.to} value={v.to} onChange={(to) => set({ to })} />
          {may("record.read") ? <TextField id="log-chart" label={w.chart} hint={w.chartHint} value={v.chart_number} max={100} onChange={(chart_number) => set({ chart_number })} /> : null}
          {v.record_id ? <p class="small" data-testid="log-one-record">{w.oneRecord}</p> : null}
        </div>
        <div class="row"><Press id="log-look" kind="main" submit disabled={busy.value} onPress={() => undefined}>{w.look}</Press>
          <Press id="log-clear" kind="quiet" onPress={() => narrow({})}>{w.clear}</Press>
          <Press id="log-export" disabled={busy.value} onPress={() => void save()}>{w.export}</Press></div>
        <p class="small soft">{w.exportHint}</p>
      </form>
      {wrong.value ? <Notice shape="warn" id="log-wrong" live><p>{wrong.value}</p></Notice> : null}
      {found.value === null ? <p role="status">{t.common.loading}</p> : (
        <>
          <p role="status" class="soft small" data-testid="log-count">{found.value.length === 0 ? w.none : next.value ? w.shownMore(found.value.length) : w.shown(found.value.length)}</p>
          <ul class="list" data-testid="accesses">{found.value.map((one) => <Line key={one.access_id} access={one} onRecord={(record_id) => narrow({ record_id })} />)}</ul>
          {next.value ? <Press id="log-more" wide disabled={busy.value} onPress={() => void look(next.value)}>{t.desk.more}</Press> : null}
        </>
      )}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}
