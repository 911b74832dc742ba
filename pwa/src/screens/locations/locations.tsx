import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Mark, Notice, Press } from "../../parts/basics";
import { dateText } from "../../parts/dates";
import { goTo } from "../../session/places";
import { place, places } from "../../session/state";
import { zoneText } from "../../session/zones";
import { myLocations, type LocationSummary } from "../../sync/places";
import { t } from "../../text";
import { attempt, busy, words } from "../attempt";
import { go, href } from "../route";
import { NewLocation } from "./new";
import { timeIn } from "./zone-field";

/** The locations whose administrator one is, or opening another one. */
export function Locations({ mode }: { mode: string | null }) {
  return mode === "new" ? <NewLocation /> : <LocationList opened={mode} />;
}

function LocationList({ opened }: { opened: string | null }) {
  const found = useSignal<LocationSummary[] | null>(null);
  const failed = useSignal<string | null>(null);
  useEffect(() => { myLocations().then((list) => { found.value = list; }, (error: unknown) => { failed.value = words(error); }); }, [opened]);
  const fresh = found.value?.find((one) => one.location_id === opened);
  return (
    <div class="page">
      <h1>{t.places.title}</h1>
      <p class="soft">{t.places.lead}</p>
      {fresh ? <Notice calm shape="done" id="location-opened" live><p>{t.places.opened(fresh.name)}</p></Notice> : null}
      {failed.value ? <Notice shape="warn" live><p>{failed.value}</p></Notice> : null}
      {found.value === null && !failed.value ? <p role="status">{t.common.loading}</p> : null}
      <ul class="list">{(found.value ?? []).map((one) => (
        <li class="item wraps" key={one.location_id} data-testid="location-row">
          <span class="grow"><span class="strong">{one.name}</span>
            <span class="small">{t.places.zone(zoneText(one.zone), timeIn(one.zone))}</span>
            <span class="small soft">{t.places.since(dateText(one.opened_at))}</span></span>
          {one.location_id === place.value?.location_id ? <Mark shape="done">{t.places.here}</Mark>
            : places.value.some((each) => each.location_id === one.location_id)
              ? <Press id="location-go" disabled={busy.value} label={t.places.go(one.name)} onPress={() => void attempt(() => goTo(one.location_id))}>{t.places.go(one.name)}</Press> : null}
        </li>))}</ul>
      <div class="row"><Press id="location-new" kind="main" onPress={() => go("practice", "locations", "new")}>{t.places.open}</Press></div>
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}
