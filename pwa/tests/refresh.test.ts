import { beforeAll, beforeEach, describe, expect, it, vi } from "vitest";
import { append } from "../src/outbox/append";
import { readWaiting } from "../src/outbox/read";
import { settle } from "../src/outbox/settle";
import { person, refreshEvents } from "../src/session/state";
import { counted, eventsOf, forgetWritten, readyToFold } from "../src/session/written";
import { freshTablet, note } from "./support/tablet";

const RECORD = "01939a2b-0000-7000-8000-00000000cccc";

/** How many entries were decrypted while `work` ran. */
async function decrypted(work: () => Promise<void>): Promise<number> {
  const spy = vi.spyOn(crypto.subtle, "decrypt");
  await work();
  const times = spy.mock.calls.length;
  spy.mockRestore();
  return times;
}

async function answer(count: number): Promise<void> {
  const sent = (await readWaiting(count)).map(({ event_id, tablet_seq }) => ({ event_id, tablet_seq, outcome: "applied" as const, position: tablet_seq }));
  await settle(sent as never, null);
}

const states = (): string[] => eventsOf(RECORD).map((e) => e.state);

beforeAll(readyToFold);
beforeEach(async () => {
  await freshTablet();
  forgetWritten();
  person.value = { person_id: "dent", display_name: "D", initials: "D", roles: ["clinician"] };
  await append(Array.from({ length: 40 }, (_, n) => note(`note ${n}`)), "dent");
});

describe("taking up what changed in the outbox", () => {
  it("reads what it has not seen, and then nothing again", async () => {
    expect(await decrypted(refreshEvents)).toBe(40);
    expect(await decrypted(refreshEvents)).toBe(0);
    await append([note("one more")], "dent");
    expect(await decrypted(refreshEvents)).toBe(1);
    expect(eventsOf(RECORD)).toHaveLength(41);
  });

  it("learns of answers, and again not of what was answered before", async () => {
    await refreshEvents();
    await answer(30);
    await refreshEvents();
    expect(states()).toEqual([...Array(30).fill("settled"), ...Array(10).fill("waiting")]);
    await answer(4);
    // The ten that waited, and none of the thirty.
    expect(await decrypted(refreshEvents)).toBeLessThanOrEqual(10);
    expect(counted().waiting).toBe(6);
  });

  it("learns that entries were put back to be sent again", async () => {
    await answer(40);
    await refreshEvents();
    await settle([], 11);
    await refreshEvents();
    expect(states()).toEqual([...Array(10).fill("settled"), ...Array(30).fill("waiting")]);
  });

  it("keeps nothing decrypted for nobody", async () => {
    person.value = null;
    expect(await decrypted(refreshEvents)).toBe(0);
    expect(counted().held).toBe(0);
  });
});
