import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { openLink, useLink, type Visit, type VisitUse } from "../../sync/access";
import { t } from "../../text";
import { problemText } from "../attempt";
import { OtherLanguages } from "../language";
import { FactorSetUp, provenOf, RecoveryCodes, useFactorForm } from "./factor";
import { passwordWrongs, pinWrongs, wrongsOf, type Wrongs } from "./wrong";

/** Where a one-time link leads: a person sets a password, a PIN, a second factor. */
export function Welcome({ token }: { token: string }) {
  const visit = useSignal<Visit | "closed" | null>(null);
  const failed = useSignal<string | null>(null);
  const codes = useSignal<string[] | null>(null);
  const open = () => {
    failed.value = null;
    openLink(token).then((found) => { visit.value = found; }, (error: unknown) => {
      if ((error as { code?: string }).code === "link_wrong") visit.value = "closed";
      else failed.value = t.access.welcome.failed(problemText(error));
    });
  };
  useEffect(open, [token]);
  const w = t.access.welcome;
  const now = visit.value;
  return (
    <main class="page narrow">
      {codes.value ? <Done codes={codes.value} /> : now === "closed" ? (
        <><h1>{w.closed}</h1><Notice shape="stop" id="link-closed" live><p>{w.closedMore}</p></Notice><ToDesk /></>
      ) : now ? <Form token={token} visit={now} onDone={(made) => { codes.value = made; }} onClosed={() => { visit.value = "closed"; }} /> : failed.value ? (
        <><h1>{t.common.app}</h1><Notice shape="warn" id="link-failed" live><p>{failed.value}</p>
          <Press id="link-again" kind="main" onPress={open}>{w.again}</Press></Notice></>
      ) : <p role="status">{t.common.loading}</p>}
      <OtherLanguages />
    </main>
  );
}

function Form({ token, visit, onDone, onClosed }: { token: string; visit: Visit; onDone: (codes: string[]) => void; onClosed: () => void }) {
  const w = t.access.welcome;
  const f = t.access.fields;
  const sign_in = useSignal(visit.sign_in ?? "");
  const password = useSignal("");
  const repeat = useSignal("");
  const pin = useSignal("");
  const pin_repeat = useSignal("");
  const factor = useFactorForm();
  const wrong = useSignal<Wrongs>({});
  const failed = useSignal<string | null>(null);
  const busy = useSignal(false);
  const send = async () => {
    if (busy.value) return;
    failed.value = null;
    const beside = visit.has_factor || factor.setting.value !== null;
    wrong.value = typed(visit, { sign_in: sign_in.value, password: password.value, repeat: repeat.value, pin: pin.value, pin_repeat: pin_repeat.value }, beside);
    if (Object.keys(wrong.value).length > 0) {
      failed.value = w.notYet;
      return;
    }
    busy.value = true;
    const given: VisitUse = {
      ...(password.value ? { sign_in: sign_in.value.trim(), password: password.value } : {}),
      ...(pin.value ? { pin: pin.value } : {}), ...provenOf(factor),
    };
    try {
      onDone(await useLink(token, given));
    } catch (error) {
      if ((error as { code?: string }).code === "link_wrong") return onClosed();
      const wrongs = wrongsOf(error);
      if (wrongs) wrong.value = wrongs;
      if ((error as { code?: string }).code === "passkey_wrong") factor.setting.value = null;
      failed.value = wrongs ? w.notYet : w.notSet(problemText(error));
    } finally {
      busy.value = false;
    }
  };
  return (
    <>
      <header class="stack">
        <span class="small soft">{w.place(visit.practice_name, visit.location_name)}</span>
        <h1>{w.title(visit.display_name)}</h1>
        {visit.password === "no" ? null : <p>{w.lead[visit.purpose]}</p>}
        <p class="small soft">{w.until(timeText(visit.expires_at))}</p>
      </header>
      <form class="stack" data-testid="welcome-form" onSubmit={(e) => { e.preventDefault(); void send(); }}>
        {visit.password === "no" ? <Notice shape="note" id="welcome-elsewhere"><p>{w.elsewhere}</p></Notice> : <section class="sheet">
          <TextField id="welcome-name" label={f.signIn} hint={f.signInHint} value={sign_in.value} complete="username" max={80} wrong={wrong.value.sign_in} onChange={(v) => { sign_in.value = v; }} />
          <TextField id="welcome-password" label={visit.password === "may" ? f.passwordMay : f.password} hint={visit.password === "may" ? f.passwordMayHint : f.passwordHint} kind="password"
            value={password.value} complete="new-password" max={256} wrong={wrong.value.password} onChange={(v) => { password.value = v; }} />
          <TextField id="welcome-repeat" label={f.repeat} kind="password" value={repeat.value} complete="new-password" max={256} wrong={wrong.value.repeat} onChange={(v) => { repeat.value = v; }} />
        </section>}
        {visit.pin === "no" ? null : (
          <section class="sheet">
            <TextField id="welcome-pin" label={visit.pin === "may" ? f.pinMay : f.pin} hint={f.pinHint} kind="password" mode="numeric" value={pin.value} max={6} wrong={wrong.value.pin} onChange={(v) => { pin.value = v; }} />
            <TextField id="welcome-pin-repeat" label={f.pinRepeat} kind="password" mode="numeric" value={pin_repeat.value} max={6} wrong={wrong.value.pin_repeat} onChange={(v) => { pin_repeat.value = v; }} />
          </section>
        )}
        {visit.password === "no" ? null : <section class="sheet">
          <h2>{t.access.factor.title}</h2>
          <p class="small soft">{t.access.factor.lead}</p>
          {visit.has_factor ? <p>{t.access.factor.has}</p> : (
            <FactorSetUp form={factor} door={() => ({ link: token })} passkeys_here={visit.passkeys_here} wrong={wrong.value} onWrong={(wrongs) => { wrong.value = wrongs; }} />
          )}
        </section>}
        {failed.value ? <Notice shape="warn" id="welcome-failed" live><p>{failed.value}</p></Notice> : null}
        <Press id="welcome-go" kind="main" submit wide disabled={busy.value} onPress={() => undefined}>{busy.value ? w.busy : w.go}</Press>
      </form>
    </>
  );
}

interface Typed { sign_in: string; password: string; repeat: string; pin: string; pin_repeat: string }

function typed(visit: Visit, { sign_in, password, repeat, pin, pin_repeat }: Typed, beside: boolean): Wrongs {
  const w = t.access.wrong;
  const wrong: Wrongs = {};
  if (password || repeat) Object.assign(wrong, passwordWrongs(password, repeat, beside));
  else if (visit.password === "must") wrong.password = w.password;
  if ((password || visit.password === "must") && !sign_in.trim()) wrong.sign_in = w.signIn;
  if (pin || pin_repeat) Object.assign(wrong, pinWrongs(pin, pin_repeat));
  else if (visit.pin === "must") wrong.pin = w.pin;
  if (!password && !pin && Object.keys(wrong).length === 0) {
    if (visit.password === "no") wrong.pin = w.pin;
    else wrong.password = w.either;
  }
  return wrong;
}

function Done({ codes }: { codes: readonly string[] }) {
  const w = t.access.welcome;
  return (
    <>
      <h1>{w.done}</h1>
      <Notice calm shape="done" id="welcome-done" live><p>{w.doneMore}</p></Notice>
      {codes.length > 0 ? <RecoveryCodes codes={codes} /> : null}
      <ToDesk />
    </>
  );
}

function ToDesk() {
  // In place of the link, which is worth nothing any more, in the browser's history too.
  return <Press id="welcome-to-desk" kind="main" wide onPress={() => location.replace("#/desk")}>{t.access.welcome.toDesk}</Press>;
}
