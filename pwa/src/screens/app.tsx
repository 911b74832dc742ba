import { Glyph, Notice, Press } from "../parts/basics";
import { enrolled, lock, person, seat, writing } from "../session/state";
import { t } from "../text";
import { CaseScreen } from "./case/case";
import { NewCase } from "./case/new";
import { DeskApp } from "./desk/shell";
import { Door } from "./door/door";
import { SignIn } from "./door/sign-in";
import { Plan } from "./plan/plan";
import { RecordList } from "./records/list";
import { RecordScreen } from "./records/record";
import { Sign } from "./records/sign";
import { href, route } from "./route";
import { Today } from "./today";
import { Trouble } from "./trouble";

export function App() {
  if (seat.value === "starting") return <main class="page"><p role="status">{t.common.loading}</p></main>;
  if (seat.value === "broken") {
    return <main class="page narrow"><Notice shape="warn" id="start-failed"><strong>{t.common.startFailed}</strong><p>{t.common.startFailedMore}</p></Notice></main>;
  }
  if (seat.value === "door") return <Door />;
  if (seat.value === "desk") return <DeskApp />;
  if (!person.value) return <SignIn />;
  return <TabletApp />;
}

function TabletApp() {
  const [first = "today", second] = route.value;
  const inCase = first === "case" && second !== "new";
  return (
    <>
      <Top />
      <Trouble />
      {writing.value ? null : <div class="strip"><Notice shape="lock" id="reader-notice" live><strong>{t.common.readerTab}</strong><p>{t.common.readerTabMore}</p></Notice></div>}
      <main id="main">{screen(first, second)}</main>
      {inCase ? null : <Foot at={first} />}
    </>
  );
}

function screen(first: string, second: string | undefined) {
  if (first === "plan") return <Plan record_id={second ?? null} />;
  if (first === "case" && second === "new") return <NewCase />;
  if (first === "case" && second) return <CaseScreen record_id={second} />;
  if (first === "sign" && second) return <Sign record_id={second} />;
  if (first === "records" && second) return <RecordScreen record_id={second} />;
  if (first === "records") return <RecordList />;
  return <Today />;
}

function Top() {
  const who = person.value!;
  return (
    <header class="top">
      <span><span class="brand">{t.common.app}</span> <span class="soft">{enrolled.value?.location_name}</span></span>
      <span class="row"><span data-testid="who">{who.display_name}</span>
        <Press id="lock" onPress={lock}><Glyph shape="lock" />{t.common.lock}</Press></span>
    </header>
  );
}

function Foot({ at }: { at: string }) {
  const here = (name: string) => (at === name ? ("page" as const) : undefined);
  return (
    <nav class="foot" aria-label={t.common.nav.label}>
      <a href={href("today")} data-testid="nav-today" aria-current={here("today")}>{t.common.nav.today}</a>
      <a href={href("plan")} data-testid="nav-plan" aria-current={here("plan")}>{t.common.nav.plan}</a>
      <a href={href("records")} data-testid="nav-records" aria-current={here("records")}>{t.common.nav.records}</a>
    </nav>
  );
}
