import { useSignal } from "@preact/signals";
import { Mark, Notice, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { UNKEPT } from "../../parts/fields";
import type { Person } from "../../session/types";
import { deskPersonLink, type LinkPurpose, type OneTimeLink } from "../../sync/desk-people";
import { t } from "../../text";
import { attempt, busy } from "../attempt";

const PURPOSES: readonly LinkPurpose[] = ["invite", "reset", "reset_all"];

/** One-time links: the person sets password and PIN alone, and nobody else ever knows them. */
export function LinkFor({ person }: { person: Person }) {
  const made = useSignal<OneTimeLink | null>(null);
  const copied = useSignal(false);
  const make = (purpose: LinkPurpose) => void attempt(async () => {
    made.value = await deskPersonLink(person.person_id, purpose);
    copied.value = false;
  });
  const address = made.value ? `${location.origin}${made.value.path}` : "";
  const copy = () => void attempt(async () => { await navigator.clipboard.writeText(address); copied.value = true; });
  return (
    <section class="stack">
      <h2>{t.people.link.title}</h2>
      <p class="small soft">{t.people.link.lead}</p>
      <div class="row">{PURPOSES.map((one) => (
        <Press key={one} id={`link-${one}`} disabled={busy.value} onPress={() => make(one)}>{t.people.link[one]}</Press>))}</div>
      {made.value ? (
        <Notice shape="lock" id="link-made" live>
          <p>{t.people.link.show}</p>
          <div class="field"><label for="link-address">{t.people.link.label}</label>
            <textarea id="link-address" class="whole" data-testid="link-address" form={UNKEPT} readOnly rows={2} value={address} onFocus={(e) => e.currentTarget.select()} /></div>
          <p class="small">{t.people.link.until(timeText(made.value.expires_at))}</p>
          <div class="row"><Press id="link-copy" onPress={copy}>{t.people.link.copy}</Press>{copied.value ? <Mark shape="done">{t.people.link.copied}</Mark> : null}</div>
        </Notice>
      ) : null}
    </section>
  );
}
