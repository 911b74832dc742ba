import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { startTablet } from "../../session/state";
import type { Step } from "../../sync/access";
import { deskSignIn } from "../../sync/desk";
import { enrol } from "../../sync/enrol";
import { deskSeen } from "../../store/seat";
import { t } from "../../text";
import { problemText } from "../attempt";
import { enterDesk, leftBecause } from "../desk-idle";
import { typingKept } from "../kept-typing";
import { OtherLanguages } from "../language";
import { offeredCode } from "./offered";
import { SecondStep } from "./second-step";

/** A browser that is neither an enrolled tablet nor signed in: set it up, or sign in at a desk. */
export function Door() {
  // Where somebody has signed in as at a desk before, it is one; and where a paper's code led here.
  const desk = useSignal(/^#\/(desk|records\/)/.test(location.hash) || deskSeen());
  return (
    <main class="page narrow">
      <header class="stack">
        <h1>{t.door.welcome}</h1>
        <p>{t.door.intro}</p>
      </header>
      {desk.value ? <DeskSignIn /> : <Enrol />}
      <Press id={desk.value ? "to-tablet" : "to-desk"} kind="quiet" onPress={() => { desk.value = !desk.value; }}>
        {desk.value ? t.door.desk.toTablet : t.door.enrol.toDesk}
      </Press>
      <OtherLanguages />
      <p class="small soft">{t.common.caution}</p>
    </main>
  );
}

function Enrol() {
  const code = useSignal(offeredCode.value);
  const label = useSignal("");
  const busy = useSignal(false);
  const wrong = useSignal<string | null>(null);
  const send = async () => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      await enrol(code.value.trim(), label.value.trim());
      await startTablet();
    } catch (error) {
      wrong.value = t.door.enrol.failed(problemText(error));
    } finally {
      busy.value = false;
    }
  };
  return (
    <form class="sheet" data-testid="enrol-form" onSubmit={(e) => { e.preventDefault(); void send(); }}>
      <h2>{t.door.enrol.title}</h2>
      <TextField id="enrol-code" label={t.door.enrol.code} hint={t.door.enrol.codeHint} value={code.value} onChange={(v) => { code.value = v; }} max={40} />
      <TextField id="enrol-label" label={t.door.enrol.label} hint={t.door.enrol.labelHint} value={label.value} onChange={(v) => { label.value = v; }} max={60} />
      {wrong.value ? <Notice shape="warn" id="enrol-wrong" live><p>{wrong.value}</p></Notice> : null}
      <Press id="enrol-go" kind="main" submit wide disabled={busy.value || !code.value.trim() || !label.value.trim()} onPress={() => undefined}>
        {busy.value ? t.door.enrol.busy : t.door.enrol.go}
      </Press>
    </form>
  );
}

/** What went wrong with a name and a password, in words. */
function signInWords(error: unknown): string {
  const { code, facts } = error as { code?: string; facts?: { until?: string } };
  if (code === "sign_in_wrong") return t.door.desk.wrong;
  if (code === "password_locked") return t.door.desk.locked(timeText(facts?.until));
  if (code === "too_often") return t.door.desk.often(timeText(facts?.until));
  return t.door.desk.failed(problemText(error));
}

function DeskSignIn() {
  const name = useSignal("");
  const password = useSignal("");
  const busy = useSignal(false);
  const wrong = useSignal<string | null>(null);
  const step = useSignal<Step | null>(null);
  const send = async () => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      const answer = await deskSignIn(name.value.trim(), password.value);
      if (answer.step) step.value = answer.step;
      else await enterDesk();
    } catch (error) {
      wrong.value = signInWords(error);
    } finally {
      busy.value = false;
    }
  };
  if (step.value) {
    const over = () => {
      // Whoever goes back by themselves is told nothing.
      wrong.value = Date.parse(step.value!.expires_at) <= Date.now() ? t.door.desk.over : null;
      step.value = null;
      password.value = "";
    };
    return <SecondStep step={step.value} onDone={enterDesk} onOver={over} />;
  }
  return (
    <form class="sheet" data-testid="desk-form" onSubmit={(e) => { e.preventDefault(); void send(); }}>
      <h2>{t.door.desk.title}</h2>
      {leftBecause.value ? <Notice calm shape="lock" id={`desk-${leftBecause.value}`} live><p>{t.door.desk[leftBecause.value]}</p>
        {typingKept() ? <p data-testid="typing-kept">{t.door.desk.typingKept}</p> : null}</Notice> : null}
      <TextField id="desk-name" label={t.door.desk.name} value={name.value} onChange={(v) => { name.value = v; }} complete="username" max={120} />
      <TextField id="desk-password" label={t.door.desk.password} kind="password" value={password.value} onChange={(v) => { password.value = v; }} complete="current-password" max={200} />
      {wrong.value ? <Notice shape="warn" id="desk-wrong" live><p>{wrong.value}</p></Notice> : null}
      <Press id="desk-go" kind="main" submit wide disabled={busy.value || !name.value.trim() || !password.value} onPress={() => undefined}>{t.door.desk.go}</Press>
    </form>
  );
}
