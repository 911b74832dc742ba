import { useSignal } from "@preact/signals";
import { Press } from "../../parts/basics";
import { guest } from "../../session/places";
import { may } from "../../session/rights";
import { person } from "../../session/state";
import { deskSignOut } from "../../sync/desk";
import { t } from "../../text";
import { attempt } from "../attempt";
import { beginAnew } from "../desk-idle";
import { EmergencyNotices } from "../emergency/alarms";
import { href, route } from "../route";
import { DESK, find } from "../routes";
import { Foot, ScreenAt, SkipLink } from "../shell";
import { WitnessAlarms } from "../tablets/witness-alarms";
import { Trouble } from "../trouble";
import { PlaceName, PlaceStrip } from "./place";

/** Who keeps the house in order has no business with patients. */
const HOUSE_ONLY = DESK.filter(({ under }) => under !== "queue" && under !== "records");
/** Who has no role here came for a record, in an emergency. */
const RECORDS_ONLY = DESK.filter(({ under, path }) => under === "records" && !path.endsWith("release"));

/** The office browser: the queue for the chart, records to read, and what the practice agreed on. */
export function DeskApp() {
  const choosing = useSignal(false);
  const patients = may("record.read");
  const here_only = guest();
  const routes = here_only ? RECORDS_ONLY : patients ? DESK : HOUSE_ONLY;
  const { route: here } = find(routes, route.value);
  const out = () => void attempt(async () => {
    await deskSignOut();
    beginAnew();
  });
  return (
    <>
      <SkipLink />
      <header class="top"><span class="row"><span class="brand">{t.common.app}</span><PlaceName open={choosing.value} onToggle={() => { choosing.value = !choosing.value; }} /></span>
        <span class="row">{here_only ? <span data-testid="who">{person.value?.display_name}</span>
          : <a class="button quiet" href={href("settings")} data-testid="open-settings"><span><span data-testid="who">{person.value?.display_name}</span>, {t.common.nav.settings}</span></a>}<Press id="desk-sign-out" onPress={out}>{t.common.nav.signOut}</Press></span></header>
      <PlaceStrip open={choosing.value} onClose={() => { choosing.value = false; }} />
      <EmergencyNotices />
      <WitnessAlarms />
      <Trouble />
      <ScreenAt routes={routes} />
      <Foot at={here.under} entries={[
        ...(patients && !here_only ? [{ to: "queue", text: t.common.nav.queue }] : []),
        ...(patients ? [{ to: "records", text: t.common.nav.records }] : []),
        ...(here_only ? [] : [{ to: "practice", text: t.common.nav.practice }]),
      ]} />
    </>
  );
}
