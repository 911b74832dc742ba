import { useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { Notice, Press } from "../../parts/basics";
import { PIN_LENGTH, PinPad } from "../../parts/keypad";
import { person, writing } from "../../session/state";
import { signInWithPin } from "../../sync/people";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { pinWords } from "../door/sign-in";

/** The PIN again, by whoever is signed in, and then one thing is done. Works without a network. */
export function PinForm({ id, label, go, waiting, disabled = false, onPin, children }: {
  id: string; label: string; go: string; waiting: string; disabled?: boolean; onPin: () => Promise<void>; children?: ComponentChildren;
}) {
  const pin = useSignal("");
  const wrong = useSignal<string | null>(null);
  const send = async () => {
    if (disabled || busy.value || !writing.value) return;
    if (pin.value.length !== PIN_LENGTH) { wrong.value = t.door.sign.digits; return; }
    wrong.value = null;
    const given = pin.value;
    pin.value = "";
    await attempt(async () => {
      try {
        await signInWithPin(person.value!.person_id, given);
      } catch (error) {
        wrong.value = pinWords(error);
        return;
      }
      await onPin();
    });
  };
  return (
    <form class="sheet narrow" data-testid={`${id}-form`} onSubmit={(e) => { e.preventDefault(); void send(); }}>
      {children}
      <PinPad id={`${id}-pin`} label={label} pin={pin.value} onChange={(v) => { pin.value = v; }} />
      {wrong.value ? <Notice shape="warn" id={`${id}-wrong`} live><p>{wrong.value}</p></Notice> : null}
      <Press id={`${id}-go`} kind="main" large wide submit disabled={disabled || busy.value || !writing.value} onPress={() => undefined}>{busy.value ? waiting : go}</Press>
    </form>
  );
}
