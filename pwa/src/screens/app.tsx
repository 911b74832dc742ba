import { useEffect } from "preact/hooks";
import { Glyph, Notice, Press } from "../parts/basics";
import { enrolled, lock, person, seat, writing } from "../session/state";
import { t } from "../text";
import { DeskApp } from "./desk/shell";
import { Door } from "./door/door";
import { TabletEmergencies } from "./emergency/on-tablet";
import { lazy } from "./lazy";
import { SignIn } from "./door/sign-in";
import { href, route } from "./route";
import { fetchAhead, find, TABLET } from "./routes";
import { Foot, ScreenAt, SkipLink } from "./shell";
import { TimerStrip } from "./timer-strip";
import { Trouble } from "./trouble";

/** Where a one-time link leads, whoever else is signed in at this browser. */
const Welcome = lazy(() => import("./access/welcome").then((m) => m.Welcome));

/** Where a case is open, and whoever sits in the chair can read along. */
const CASE = /^(case\/:|answer\/)/;
/** Where the foot of the window has the answers of a list. */
const ANSWERING = /^check\//;

export function App() {
  if (seat.value === "starting") return <main class="page"><p role="status">{t.common.loading}</p></main>;
  if (seat.value === "broken") {
    return <main class="page narrow"><Notice shape="warn" id="start-failed"><strong>{t.common.startFailed}</strong><p>{t.common.startFailedMore}</p></Notice></main>;
  }
  const [first, token] = route.value;
  if (first === "welcome" && token) return <Welcome token={token} />;
  if (seat.value === "door") return <Door />;
  if (seat.value === "desk") return <DeskApp />;
  if (!person.value) return <SignIn />;
  return <TabletApp />;
}

function TabletApp() {
  const { route: here } = find(TABLET, route.value);
  const nav = t.common.nav;
  useEffect(() => fetchAhead(TABLET), []);
  return (
    <>
      <SkipLink />
      <Top />
      <Trouble />
      {/* Not beside a patient: there it would be read by whoever sits in the chair, and it can wait. */}
      {CASE.test(here.path) ? null : <TabletEmergencies />}
      {writing.value ? null : <div class="strip"><Notice shape="lock" id="reader-notice" live><strong>{t.common.readerTab}</strong><p>{t.common.readerTabMore}</p></Notice></div>}
      <TimerStrip />
      <ScreenAt routes={TABLET} />
      {CASE.test(here.path) || ANSWERING.test(here.path) ? null : <Foot at={here.under} entries={[
        { to: "today", text: nav.today }, { to: "plan", text: nav.plan },
        { to: "records", text: nav.records }, { to: "practice", text: nav.practice },
      ]} />}
    </>
  );
}

function Top() {
  const who = person.value!;
  return (
    <header class="top">
      <span><span class="brand">{t.common.app}</span> <span class="soft">{enrolled.value?.location_name}</span></span>
      <span class="row"><a class="button quiet" href={href("settings")} data-testid="open-settings"><span><span data-testid="who">{who.display_name}</span>, {t.common.nav.settings}</span></a>
        <Press id="lock" onPress={lock}><Glyph shape="lock" />{t.common.lock}</Press></span>
    </header>
  );
}
