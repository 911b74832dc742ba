import { useSignal, type Signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import {
  changePassword, changePin, confirmPasskey, confirmTotp, me, newRecoveryCodes, removeFactor, type Factor, type Me,
} from "../../sync/access";
import { t } from "../../text";
import { words } from "../attempt";
import { FactorSetUp, provenOf, RecoveryCodes, useFactorForm } from "../access/factor";
import { passwordWrongs, pinWrongs, wrongsOf, type Wrongs } from "../access/wrong";
import { href } from "../route";

/** How one gets in: password, PIN, second factors; each change asks for the password again. */
export function Secrets() {
  const known = useSignal<Me | null>(null);
  const failed = useSignal<string | null>(null);
  const load = () => me().then((found) => { known.value = found; }, (error: unknown) => { failed.value = words(error); });
  useEffect(() => { void load(); }, []);
  const w = t.access.own;
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      {failed.value ? <Notice shape="warn" id="secrets-failed" live><p>{failed.value}</p></Notice> : null}
      {known.value ? <Changes known={known.value} onChange={() => void load()} /> : failed.value ? null : <p role="status">{t.common.loading}</p>}
      <a class="button quiet" href={href("settings")}>{w.back}</a>
    </div>
  );
}

interface Doing { wrong: Signal<Wrongs>; said: Signal<string | null>; failed: Signal<string | null>; busy: Signal<boolean> }

function Changes({ known, onChange }: { known: Me; onChange: () => void }) {
  const w = t.access.own;
  const now = useSignal("");
  const doing: Doing = { wrong: useSignal<Wrongs>({}), said: useSignal<string | null>(null), failed: useSignal<string | null>(null), busy: useSignal(false) };
  const { wrong, said, failed, busy } = doing;
  /** Do one change; what is wrong stands at its field, and nothing typed is lost. */
  const change = async (checked: Wrongs, work: () => Promise<string>): Promise<boolean> => {
    if (busy.value) return false;
    wrong.value = now.value ? checked : { ...checked, password_now: t.access.wrong.password };
    said.value = failed.value = null;
    if (Object.keys(wrong.value).length > 0) return false;
    busy.value = true;
    try {
      said.value = await work();
      onChange();
      return true;
    } catch (error) {
      const wrongs = wrongsOf(error);
      if (wrongs) wrong.value = wrongs;
      else failed.value = (error as { code?: string }).code === "password_too_short_alone" ? t.access.factor.alone : words(error);
      return false;
    } finally {
      busy.value = false;
    }
  };
  return (
    <>
      <section class="sheet">
        {known.sign_in ? <p>{w.name(known.sign_in)}</p> : null}
        <TextField id="secret-now" label={t.access.fields.now} kind="password" complete="current-password" value={now.value} max={256} wrong={wrong.value.password_now} onChange={(v) => { now.value = v; }} />
        {said.value ? <Notice calm shape="done" id="secret-done" live><p>{said.value}</p></Notice> : null}
        {failed.value ? <Notice shape="warn" id="secret-failed" live><p>{failed.value}</p></Notice> : null}
      </section>
      <div class="two">
        <div class="stack">
          <Password now={now} known={known} wrong={wrong.value} change={change} />
          {known.may_have_pin ? <Pin now={now} wrong={wrong.value} change={change} /> : null}
        </div>
        <Factors now={now} known={known} doing={doing} change={change} onChange={onChange} />
      </div>
    </>
  );
}

type Change = (checked: Wrongs, work: () => Promise<string>) => Promise<boolean>;

function Password({ now, known, wrong, change }: { now: Signal<string>; known: Me; wrong: Wrongs; change: Change }) {
  const password = useSignal("");
  const repeat = useSignal("");
  const f = t.access.fields;
  const send = async () => {
    const checked = passwordWrongs(password.value, repeat.value, known.factors.length > 0);
    const done = await change(checked, async () => {
      await changePassword(now.value, password.value);
      return t.access.own.passwordDone;
    });
    if (done) now.value = password.value = repeat.value = "";
  };
  return (
    <form class="sheet" onSubmit={(e) => { e.preventDefault(); void send(); }}>
      <h2>{t.access.own.changePassword}</h2>
      <TextField id="new-password" label={t.access.own.newPassword} hint={f.passwordHint} kind="password" complete="new-password" max={256} value={password.value} wrong={wrong.password} onChange={(v) => { password.value = v; }} />
      <TextField id="new-password-repeat" label={f.repeat} kind="password" complete="new-password" max={256} value={repeat.value} wrong={wrong.repeat} onChange={(v) => { repeat.value = v; }} />
      <Press id="new-password-go" submit onPress={() => undefined}>{t.access.own.changePassword}</Press>
    </form>
  );
}

function Pin({ now, wrong, change }: { now: Signal<string>; wrong: Wrongs; change: Change }) {
  const pin = useSignal("");
  const repeat = useSignal("");
  const f = t.access.fields;
  const send = async () => {
    const done = await change(pinWrongs(pin.value, repeat.value), async () => {
      await changePin(now.value, pin.value);
      return t.access.own.pinDone;
    });
    if (done) now.value = pin.value = repeat.value = "";
  };
  return (
    <form class="sheet" onSubmit={(e) => { e.preventDefault(); void send(); }}>
      <h2>{t.access.own.changePin}</h2>
      <TextField id="new-pin" label={t.access.own.newPin} hint={f.pinHint} kind="password" mode="numeric" max={6} value={pin.value} wrong={wrong.pin} onChange={(v) => { pin.value = v; }} />
      <TextField id="new-pin-repeat" label={f.pinRepeat} kind="password" mode="numeric" max={6} value={repeat.value} wrong={wrong.pin_repeat} onChange={(v) => { repeat.value = v; }} />
      <Press id="new-pin-go" submit onPress={() => undefined}>{t.access.own.changePin}</Press>
    </form>
  );
}

function Factors({ now, known, doing, change, onChange }: { now: Signal<string>; known: Me; doing: Doing; change: Change; onChange: () => void }) {
  const w = t.access.factor;
  const form = useFactorForm();
  const codes = useSignal<readonly string[]>([]);
  const door = () => {
    doing.wrong.value = now.value ? {} : { password_now: t.access.wrong.password };
    return now.value ? { password_now: now.value } : null;
  };
  const add = () => change({}, async () => {
    const { totp, passkey } = provenOf(form) as { totp?: never; passkey?: never };
    codes.value = totp ? await confirmTotp(totp) : await confirmPasskey(passkey!);
    form.setting.value = null;
    return t.access.own.factorDone;
  });
  const renew = () => change({}, async () => {
    codes.value = await newRecoveryCodes(now.value);
    return t.access.codes.title;
  });
  const remove = (factor: Factor) => change({}, async () => {
    await removeFactor(now.value, factor.factor_id);
    return t.access.own.removed;
  });
  return (
    <section class="sheet">
      <h2>{w.title}</h2>
      <p class="small soft">{w.lead}</p>
      {known.factors.length === 0 ? <p data-testid="no-factor">{w.none}</p> : (
        <ul class="list">{known.factors.map((factor) => (
          <li class="item" key={factor.factor_id} data-testid="factor">
            <span class="grow"><span class="strong">{w[factor.kind]}: {factor.label || w.unnamed}</span>
              <span class="small">{w.added(momentText(factor.made_at))}, {factor.used_at ? w.used(momentText(factor.used_at)) : w.unused}</span></span>
            <Press id="factor-remove" label={`${w.remove}: ${factor.label || w.unnamed}`} onPress={() => void remove(factor)}>{w.remove}</Press>
          </li>
        ))}</ul>
      )}
      {codes.value.length > 0 ? (
        <><RecoveryCodes codes={codes.value} />
          <Press id="codes-kept" kind="main" onPress={() => { codes.value = []; onChange(); }}>{t.access.codes.kept}</Press></>
      ) : (
        <>
          <FactorSetUp form={form} door={door} passkeys_here={known.passkeys_here} wrong={doing.wrong.value} onWrong={(wrongs) => { doing.wrong.value = wrongs; }} />
          {form.setting.value ? <Press id="factor-add" kind="main" onPress={() => void add()}>{w.confirm}</Press> : null}
          {known.factors.length > 0 && !form.setting.value ? (
            <><p class="small" data-testid="codes-left">{t.access.codes.left(known.recovery_codes_left)}</p>
              <Press id="codes-renew" onPress={() => void renew()}>{t.access.codes.renew}</Press></>
          ) : null}
        </>
      )}
    </section>
  );
}
