import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Notice, Press } from "../../parts/basics";
import { dateText, momentText } from "../../parts/dates";
import { may } from "../../session/rights";
import { listTablets, type ListedTablet } from "../../sync/tablets";
import { t } from "../../text";
import { deskWords } from "../desk/papers";
import { href } from "../route";
import { NewTablet } from "./code";
import { OfflineLimit } from "./offline-limit";
import { OneTablet } from "./one";
import { States } from "./states";
import { AlarmsInFull } from "./witness-alarms";

/** The tablets of the location: all of them with a code for a new one, or one of them. */
export function Tablets({ tablet_id }: { tablet_id: string | null }) {
  const found = useSignal<ListedTablet[] | null>(null);
  const wrong = useSignal<string | null>(null);
  const load = async () => {
    try {
      found.value = await listTablets();
      wrong.value = null;
    } catch (error) {
      wrong.value = deskWords(error);
    }
  };
  useEffect(() => { void load(); }, [tablet_id]);
  const w = t.tablets;
  if (!may("tablet.write")) return <div class="page"><h1>{w.title}</h1><p>{t.desk.notAllowed}</p></div>;
  const one = tablet_id === null ? undefined : found.value?.find((each) => each.tablet_id === tablet_id);
  if (one) return <OneTablet key={one.tablet_id} tablet={one} onChanged={load} wrong={wrong.value} />;
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      <AlarmsInFull />
      <NewTablet listed={found.value ?? []} look={load} />
      <div class="row spread"><h2>{w.enrolled}</h2><Press id="tablets-refresh" onPress={() => void load()}>{t.desk.refresh}</Press></div>
      {found.value === null ? <p role="status">{t.common.loading}</p>
        : found.value.length === 0 ? <p>{w.none}</p>
        : <ul class="list" data-testid="tablets">{found.value.map((each) => <Row key={each.tablet_id} tablet={each} />)}</ul>}
      <OfflineLimit />
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function Row({ tablet }: { tablet: ListedTablet }) {
  const w = t.tablets;
  return (
    <li><a class="item" href={href("practice", "tablets", tablet.tablet_id)} data-testid="tablet">
      <span class="grow"><span class="strong">{tablet.label}</span>
        <span class="small soft">{w.enrolledBy(dateText(tablet.enrolled_at), tablet.enrolled_by ?? w.onServer)}</span>
        <span class="small soft">{tablet.last_seen_at ? w.seen(momentText(tablet.last_seen_at)) : w.neverSeen}</span>
        <States tablet={tablet} /></span>
      <Glyph shape="turn" /></a></li>
  );
}
