import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { Choice, TextField } from "../../parts/fields";
import { finishSignIn, passkeyAsked, usePasskey, type Step, type Way } from "../../sync/access";
import { t } from "../../text";
import { problemText } from "../attempt";

/** The second step of a sign-in at a desk: a code, a passkey, or a recovery code. */
export function SecondStep({ step, onDone, onOver }: { step: Step; onDone: () => Promise<void>; onOver: () => void }) {
  const w = t.door.second;
  const way = useSignal<Way>(step.ways.find((one) => one !== "passkey" || step.passkeys_here) ?? step.ways[0]!);
  const code = useSignal("");
  const busy = useSignal(false);
  const wrong = useSignal<string | null>(null);
  const send = async () => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      const shown = way.value === "passkey"
        ? { credential: await usePasskey(await passkeyAsked(step.token)) }
        : { code: code.value.trim() };
      await finishSignIn({ token: step.token, way: way.value, ...shown });
      await onDone();
    } catch (error) {
      const { code: refused, attempts_left, until } = { ...(error as { facts?: object }).facts, ...(error as { code?: string }) } as
        { code?: string; attempts_left?: number; until?: string };
      if (refused === "step_over") return onOver();
      wrong.value = refused === "factor_wrong" ? (until ? w.locked(timeText(until)) : w.wrong(attempts_left ?? null))
        : refused === "factor_locked" ? w.locked(timeText(until))
        : error instanceof DOMException ? w.declined : t.door.desk.failed(problemText(error));
      code.value = "";
    } finally {
      busy.value = false;
    }
  };
  const away = way.value === "passkey" && !step.passkeys_here;
  return (
    <form class="sheet" data-testid="second-form" onSubmit={(e) => { e.preventDefault(); void send(); }}>
      <h2>{w.title}</h2>
      {step.ways.length > 1 ? (
        <Choice id="second-way" legend={w.way} value={way.value} onChange={(one) => { way.value = one as Way; wrong.value = null; }}
          options={step.ways.map((one) => ({ value: one, text: w.ways[one] }))} />
      ) : null}
      {way.value === "passkey" ? <p>{away ? w.elsewhere : w.passkeyLead}</p> : (
        <TextField id="second-code" key={way.value} label={w.code[way.value] ?? ""} hint={w.codeHint[way.value]} value={code.value} focus
          mode={way.value === "totp" ? "numeric" : "text"} complete="one-time-code" max={20} onChange={(v) => { code.value = v; }} />
      )}
      {wrong.value ? <Notice shape="warn" id="second-wrong" live><p>{wrong.value}</p></Notice> : null}
      <Press id="second-go" kind="main" submit wide disabled={busy.value || away || (way.value !== "passkey" && !code.value.trim())} onPress={() => undefined}>
        {way.value === "passkey" ? w.usePasskey : t.door.desk.go}
      </Press>
      <Press id="second-back" kind="quiet" onPress={onOver}>{w.back}</Press>
    </form>
  );
}
