import { useSignal } from "@preact/signals";
import { Glyph, Notice, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { PIN_LENGTH, PinPad } from "../../parts/keypad";
import { house } from "../../session/house";
import { enrolled, lostStorage, openCount, shutBecause, signIn, status, writing, type Who } from "../../session/state";
import type { Person } from "../../session/types";
import { signInWithPin, type SignedIn } from "../../sync/people";
import { t } from "../../text";
import { AgainOffer, AttentionNotice } from "./attention";
import { LockTimer } from "./lock-timer";
import { problemText } from "../attempt";
import { OtherLanguages } from "../language";

/** What went wrong with a PIN, in words. */
export function pinWords(error: unknown): string {
  const { code, attempts_left, until } = error as { code?: string; attempts_left?: number | null; until?: string | null };
  if (code === "pin_wrong") return t.door.sign.wrong(attempts_left ?? null);
  if (code === "pin_locked") return until ? t.door.sign.locked(timeText(until)) : t.door.sign.disabled;
  if (code === "pin_unknown_offline") return t.door.sign.offlineUnknown;
  if (code === "part_missing") return `${t.common.partMissing}. ${t.common.partMissingMore}`;
  return t.door.sign.failed(problemText(error));
}

/** Choose a person, give the PIN. A running timer can be stopped from here. */
export function SignIn() {
  const chosen = useSignal<string | null>(null);
  const people = atTheChairFirst(house.value.people);
  const revoked = status.value.attention?.code === "tablet_revoked";
  const who = revoked ? undefined : people.find((p) => p.person_id === chosen.value);
  return (
    <main class="page narrow">
      <header class="stack">
        <span class="small soft">{enrolled.value?.practice_name}, {enrolled.value?.location_name}</span>
        <h1>{who ? t.door.sign.pinFor(who.display_name) : t.door.sign.title}</h1>
      </header>
      {writing.value ? null : <Notice shape="lock" id="reader-notice"><strong>{t.common.readerTab}</strong><p>{t.common.readerTabMore}</p></Notice>}
      {lostStorage.value ? <Notice shape="warn" id="lost-storage"><strong>{t.door.sign.lost}</strong><p>{t.door.sign.lostMore}</p></Notice> : null}
      {revoked ? <Notice shape="stop" id="tablet-revoked" live><strong>{t.door.sign.revoked}</strong><p>{t.door.sign.revokedMore}</p><p>{t.door.sign.revokedTodo}</p><AgainOffer /></Notice> : null}
      {shutBecause.value && !revoked ? <Notice shape="lock" id="shut-because" live><p>{t.door.sign.shut[shutBecause.value]}</p></Notice> : null}
      <LockTimer />
      <ShutOut />
      {openCount.value > 0 ? <Notice calm id="lock-open-case"><p>{t.door.sign.openCase}</p></Notice> : null}
      {revoked ? null : who ? <Pin person_id={who.person_id} onOther={() => { chosen.value = null; }} /> : (
        people.length === 0
          ? <p role="status">{t.door.sign.nobody}</p>
          : <ul class="list" data-testid="people">
              {people.map((p) => (
                <li key={p.person_id}>
                  <button type="button" class="item" data-testid={`person-${p.initials.toLowerCase()}`} onClick={() => { chosen.value = p.person_id; }}>
                    <span class="grow strong">{p.display_name}</span><Glyph shape="turn" />
                  </button>
                </li>
              ))}
            </ul>
      )}
      <OtherLanguages />
    </main>
  );
}

/** Who works at the chair stands first: beside an open case the others may be below the fold. */
function atTheChairFirst(people: readonly Person[]): Person[] {
  const works = (one: Person) => one.roles.some((role) => role === "clinician" || role === "assistant");
  return [...people.filter(works), ...people.filter((one) => !works(one))];
}

/** What keeps everybody from signing in, or from sending, can be dealt with before a PIN. */
function ShutOut() {
  const { attention } = status.value;
  if (!attention || attention.code === "tablet_revoked") return null;
  return attention.blocking || attention.code.startsWith("tablet_") ? <AttentionNotice /> : null;
}

function Pin({ person_id, onOther }: { person_id: string; onOther: () => void }) {
  const pin = useSignal("");
  const busy = useSignal(false);
  const wrong = useSignal<string | null>(null);
  // The server says of a PIN that was never set what it says of a wrong one.
  const unsure = useSignal(false);
  const send = async () => {
    if (busy.value) return;
    unsure.value = false;
    if (pin.value.length !== PIN_LENGTH) { wrong.value = t.door.sign.digits; return; }
    busy.value = true;
    wrong.value = null;
    try {
      const answer: SignedIn = await signInWithPin(person_id, pin.value);
      const fromHouse = house.value.people.find((p) => p.person_id === person_id);
      await signIn({ ...fromHouse, ...(answer.person as Who), person_id } as Who, answer.capture_only);
    } catch (error) {
      unsure.value = (error as { code?: string }).code === "pin_wrong";
      wrong.value = pinWords(error);
      pin.value = "";
    } finally {
      busy.value = false;
    }
  };
  return (
    <form class="stack" data-testid="pin-form" onSubmit={(e) => { e.preventDefault(); void send(); }}>
      <PinPad id="pin" label={t.door.sign.pin} pin={pin.value} onChange={(v) => { pin.value = v; }} onFull={() => void send()} />
      {wrong.value ? <Notice shape="warn" id="pin-wrong" live><p>{wrong.value}</p>{unsure.value ? <p class="small">{t.door.sign.noPin}</p> : null}</Notice> : null}
      <Press id="pin-go" kind="main" large wide submit disabled={busy.value} onPress={() => undefined}>{t.door.sign.go}</Press>
      <Press id="pin-other" kind="quiet" onPress={onOther}>{t.door.sign.other}</Press>
    </form>
  );
}
