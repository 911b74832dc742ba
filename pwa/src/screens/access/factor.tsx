import { useSignal, type Signal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { beginPasskey, beginTotp, makePasskey, type BegunTotp, type Door, type ProvenPasskey } from "../../sync/access";
import { t } from "../../text";
import { problemText } from "../attempt";
import { wrongsOf, type Wrongs } from "./wrong";

/** What is being set up: an app that still has to show a code, or a passkey that the browser made. */
export type Setting = { kind: "totp"; begun: BegunTotp } | { kind: "passkey"; made: Omit<ProvenPasskey, "label"> };
export interface FactorForm { setting: Signal<Setting | null>; code: Signal<string>; label: Signal<string> }

export function useFactorForm(): FactorForm {
  return { setting: useSignal<Setting | null>(null), code: useSignal(""), label: useSignal("") };
}

interface Props { form: FactorForm; door: () => Door | null; passkeys_here: boolean; wrong: Wrongs; onWrong: (wrongs: Wrongs) => void }

/** Begin a second factor, and show what its owner does then. `door` is null where something is still to be said. */
export function FactorSetUp({ form, door, passkeys_here, wrong, onWrong }: Props) {
  const w = t.access.factor;
  const busy = useSignal(false);
  const failed = useSignal<string | null>(null);
  const { setting, code, label } = form;
  const begin = (work: (door: Door) => Promise<Setting>) => async () => {
    const way = door();
    if (way === null || busy.value) return;
    busy.value = true;
    failed.value = null;
    try {
      setting.value = await work(way);
      code.value = "";
    } catch (error) {
      const wrongs = wrongsOf(error);
      if (wrongs) onWrong(wrongs);
      else failed.value = error instanceof DOMException ? w.declined : problemText(error);
    } finally {
      busy.value = false;
    }
  };
  const totp = begin(async (way) => ({ kind: "totp", begun: await beginTotp(way) }));
  const passkey = begin(async (way) => {
    const { token, options } = await beginPasskey(way);
    return { kind: "passkey", made: { token, credential: await makePasskey(options) } };
  });
  const now = setting.value;
  return (
    <div class="stack" data-testid="factor-set-up">
      {now === null ? (
        <div class="row">
          <Press id="add-totp" disabled={busy.value} onPress={() => void totp()}>{w.addTotp}</Press>
          {passkeys_here ? <Press id="add-passkey" disabled={busy.value} onPress={() => void passkey()}>{w.addPasskey}</Press> : null}
        </div>
      ) : null}
      {now === null && !passkeys_here ? <p class="small soft">{w.nowhere}</p> : null}
      {now?.kind === "totp" ? (
        <>
          <p>{w.scan}</p>
          <img class="qr" src={now.begun.picture} alt={w.picture} />
          <p>{w.key}: <code class="num break" data-testid="totp-secret">{now.begun.secret.replace(/(.{4})(?=.)/g, "$1 ")}</code></p>
          <TextField id="totp-code" label={w.code} hint={w.codeHint} value={code.value} mode="numeric" complete="one-time-code" max={8}
            wrong={wrong.code} onChange={(v) => { code.value = v.replace(/\s/g, ""); }} />
        </>
      ) : null}
      {now?.kind === "passkey" ? <Notice calm shape="done" id="passkey-ready" live><p>{w.ready}</p></Notice> : null}
      {now ? <TextField id="factor-label" label={w.label} hint={w.labelHint} value={label.value} max={60} onChange={(v) => { label.value = v; }} /> : null}
      {now ? <Press id="factor-drop" kind="quiet" onPress={() => { setting.value = null; }}>{w.drop}</Press> : null}
      {failed.value ? <Notice shape="warn" id="factor-failed" live><p>{failed.value}</p></Notice> : null}
    </div>
  );
}

/** What was begun, as the server takes it. */
export function provenOf({ setting, code, label }: FactorForm) {
  const now = setting.value;
  if (now === null) return {};
  if (now.kind === "totp") return { totp: { factor_id: now.begun.factor_id, code: code.value, label: label.value } };
  return { passkey: { ...now.made, label: label.value } };
}

/** Recovery codes, which are shown this once. */
export function RecoveryCodes({ codes }: { codes: readonly string[] }) {
  const w = t.access.codes;
  return (
    <section class="stack" data-testid="recovery-codes">
      <h2>{w.title}</h2>
      <p>{w.lead}</p>
      <ul class="codes num">{codes.map((code) => <li key={code}><code data-testid="recovery-code">{code}</code></li>)}</ul>
    </section>
  );
}
