import { Press } from "../../parts/basics";
import { may } from "../../session/rights";
import { person, seat } from "../../session/state";
import { deskSignOut } from "../../sync/desk";
import { t } from "../../text";
import { attempt } from "../attempt";
import { EmergencyNotices } from "../emergency/alarms";
import { href, route } from "../route";
import { DESK, find } from "../routes";
import { Foot, ScreenAt, SkipLink } from "../shell";
import { WitnessAlarms } from "../tablets/witness-alarms";
import { Trouble } from "../trouble";

/** Who keeps the house in order has no business with patients. */
const HOUSE_ONLY = DESK.filter(({ under }) => under !== "queue" && under !== "records");

/** The office browser: the queue for the chart, records to read, and what the practice agreed on. */
export function DeskApp() {
  const patients = may("record.read");
  const routes = patients ? DESK : HOUSE_ONLY;
  const { route: here } = find(routes, route.value);
  const out = () => void attempt(async () => {
    await deskSignOut();
    person.value = null;
    seat.value = "door";
  });
  return (
    <>
      <SkipLink />
      <header class="top"><span class="brand">{t.common.app}</span>
        <span class="row"><a class="button quiet" href={href("settings")} data-testid="open-settings"><span><span data-testid="who">{person.value?.display_name}</span>, {t.common.nav.settings}</span></a><Press id="desk-sign-out" onPress={out}>{t.common.nav.signOut}</Press></span></header>
      <EmergencyNotices />
      <WitnessAlarms />
      <Trouble />
      <ScreenAt routes={routes} />
      <Foot at={here.under} entries={[
        ...(patients ? [{ to: "queue", text: t.common.nav.queue }, { to: "records", text: t.common.nav.records }] : []),
        { to: "practice", text: t.common.nav.practice },
      ]} />
    </>
  );
}
