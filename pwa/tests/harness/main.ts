/**
 * Page of the crash test: tells what it finds stored, then saves without end and shows each event
 * as soon as it may. `?stub` is the known-bad twin that shows events before their transaction.
 */

import { beginCopy } from "../../src/copy/copy";
import { base64url } from "../../src/events/bytes";
import { append } from "../../src/outbox/append";
import type { EventDraft } from "../../src/events/build";
import { readEvents, readWaiting } from "../../src/outbox/read";
import { bringBackHouse, bringBackKeys } from "../../src/outbox/restore";
import { openSecond } from "../../src/outbox/second";
import { claimWriter } from "../../src/outbox/writer";
import { identity, putIdentity } from "../../src/store/identity";
import { makePair, makeRing } from "../../src/store/keys";
import { rememberPin } from "../../src/store/people";

const PERSON_ID = "01939a2b-0000-7000-8000-00000000dddd";
const PIN = "135790";

const begun: string[] = [];
const really = IDBDatabase.prototype.transaction;
IDBDatabase.prototype.transaction = function (stores, mode, options) {
  const transaction = really.call(this, stores, mode, options);
  if (this.name === "outbox" && mode === "readwrite") begun.push(transaction.durability);
  return transaction;
};

/** Put lines on the screen and tell the test that they can be read there. */
async function show(marks: string[]): Promise<void> {
  for (const mark of marks) {
    const line = document.createElement("li");
    line.textContent = `saved on this tablet: ${mark}`;
    document.getElementById("shown")?.append(line);
  }
  await fetch("/shown", { method: "POST", body: JSON.stringify({ marks, begun: begun.splice(0) }) });
}

function drafts(run: string, turn: number): EventDraft[] {
  // Of different sizes, up to what a long note takes.
  const words = "x".repeat((turn * 997) % 20_000);
  return [1, 2, 3].map((part) => ({
    type: "procedure.noted",
    entity_id: "01939a2b-0000-7000-8000-00000000cccc",
    payload: { text: words, mark: `${run}.${turn}.${part}` },
  }));
}

/** What enrolling and a first sign-in leave behind; `?alone` is the twin without a second copy. */
async function becomeTablet(with_copy: boolean): Promise<void> {
  const keep = crypto.getRandomValues(new Uint8Array(32));
  const { ring, sign } = await makeRing(await makePair(), keep, "t");
  const who = {
    tablet_id: "t", location_id: "l", location_name: "", practice_name: "", zone: "UTC", epoch: "e", label: "",
    public_key: "", server_public_key: "", certificate: { text: "", signature: "" }, enrolled_at: "",
  };
  await putIdentity(who, ring);
  if (with_copy) await beginCopy("t", who, sign);
  await rememberPin(PERSON_ID, PIN, {}, { keep_key: base64url(keep), view_key: null, secrets_changed_at: null });
}

async function main(): Promise<void> {
  const asked = new URLSearchParams(location.search);
  const run = asked.get("run") ?? "";
  const stub = asked.has("stub");
  if ((await claimWriter()) !== "writer") throw new Error("another tab holds the lock");
  const brought_back = !asked.has("alone") && (await identity()) === null && (await bringBackHouse()) !== null;
  if ((await identity()) === null) await becomeTablet(!asked.has("alone"));
  await openSecond();
  if (brought_back && !(await bringBackKeys(PERSON_ID, PIN))) throw new Error("the PIN opens nothing");
  const stored = await readEvents();
  const waiting = await readWaiting(1_000_000);
  await fetch("/found", { method: "POST", body: JSON.stringify({
    marks: stored.map((event) => event.payload.mark),
    seqs: stored.map((event) => event.tablet_seq),
    waiting: waiting.length,
    brought_back,
  }) });
  if (asked.has("read")) return;
  for (let turn = 0; ; turn += 1) {
    const batch = drafts(run, turn);
    const marks = batch.map((draft) => (draft.payload as { mark: string }).mark);
    const saved = append(batch, null);
    if (!stub) await saved;
    // Not waited for: the next save is under way when the test learns of this one and kills.
    show(marks).catch(() => undefined);
    await saved;
  }
}

main().catch((problem: unknown) => fetch("/failed", { method: "POST", body: String(problem) }));
