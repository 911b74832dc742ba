/** What is done to somebody elsewhere counts on the tablet at its next contact: other roles, a session that was ended. */

import { beforeEach, describe, expect, it, vi } from "vitest";
import { readCopy } from "../src/copy/copy";
import { setSurroundings, surroundings } from "../src/events/surroundings";
import { append } from "../src/outbox/append";
import { countWaiting, readEvents } from "../src/outbox/read";
import { documents } from "../src/store/documents";
import { house } from "../src/store/house";
import { closeView } from "../src/store/view";
import { onSessionEnded, personToken, signInWithPin, signOutPerson } from "../src/sync/people";
import { pull } from "../src/sync/pull";
import { syncNow } from "../src/sync/service";
import { forgetToken } from "../src/sync/token";
import { ALICE, byte, json, MemoryServer } from "./support/memory-server";
import { freshTablet, note, type Tablet } from "./support/tablet";

let server: MemoryServer;
let tablet: Tablet;

beforeEach(async () => {
  server = new MemoryServer();
  tablet = await freshTablet({ fetch: server.fetch });
  server.keys = tablet.server;
  server.documents = [{ kind: "record", doc_id: "r-1", position: 1, body: { patient: "canary-4410" } }];
  server.entries = [{ position: 1, header_hash: byte(1), body_hash: byte(2) }];
  forgetToken();
  signOutPerson();
});

/** The server says of Alice what she is now. */
async function saidOfAlice(said: object): Promise<void> {
  const position = server.entries.length + 1;
  server.entries.push({ position, header_hash: byte(position), body_hash: byte(position + 100) });
  server.documents.push({ kind: "person", doc_id: ALICE, position, body: { person_id: ALICE, ...said } });
  await pull("house", null);
}

const row = async () => (await (await house()).get("people", ALICE))!;

describe("somebody whose roles changed", () => {
  it("opens no earlier records with their PIN until the server has accepted it again", async () => {
    await saidOfAlice({ roles: ["clinician"] });
    await signInWithPin(ALICE, server.pin);
    // As the server would have said with the PIN.
    const kept = await row();
    await (await house()).put("people", { ...kept, person: { person_id: ALICE, roles: ["clinician"] } });
    await pull("records", personToken());
    await saidOfAlice({ roles: ["clinician"], display_name: "Another name" });
    expect((await row()).view).not.toBeNull();

    await saidOfAlice({ roles: ["administrator"] });
    expect(await row()).toMatchObject({ view: null, given: null, person: { roles: ["administrator"] } });
    const copied = (await readCopy(tablet.identity.tablet_id))!.people.get(ALICE) as { view: unknown };
    expect(copied.view).toBeNull();
    // The PIN still signs in without a network, as what they are now, and opens nothing.
    closeView();
    signOutPerson();
    server.reachable = false;
    expect((await signInWithPin(ALICE, server.pin)).person).toMatchObject({ roles: ["administrator"] });
    expect(await documents("record")).toEqual([]);
    // With the server's word it opens again what that role may see.
    server.reachable = true;
    await signInWithPin(ALICE, server.pin);
    expect((await row()).view).not.toBeNull();
    await pull("records", personToken());
    expect(await documents("record")).toContainEqual({ patient: "canary-4410" });
    // A PIN is stretched at each of these sign-ins.
  }, 60_000);
});

describe("a session that was ended from elsewhere", () => {
  it("is heard of at the next contact, with everything sent that was recorded", async () => {
    await signInWithPin(ALICE, server.pin);
    await append([note("in an open case")], ALICE);
    setSurroundings({ ...surroundings(), fetch: async (path, init) =>
      path.includes("feed=records") ? json({ code: "not_signed_in" }, 401) : server.fetch(path, init) });
    const told = vi.fn();
    const end = onSessionEnded(told);
    await syncNow();
    end();
    expect(told).toHaveBeenCalledTimes(1);
    expect(personToken()).toBeNull();
    expect(await countWaiting()).toBe(0);
    expect(await readEvents()).toHaveLength(1);
  });
});
