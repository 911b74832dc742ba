/** How long a tablet without the server may show earlier patients, and what a changed clock does to that. */

import fc from "fast-check";
import { beforeEach, describe, expect, it } from "vitest";
import { house } from "../src/store/house";
import { noteContact, noteTime, offlineDays, offlineTooLong } from "../src/store/identity";
import { signInWithPin, signOutPerson } from "../src/sync/people";
import { syncNow } from "../src/sync/service";
import { forgetToken } from "../src/sync/token";
import { ALICE, MemoryServer } from "./support/memory-server";
import { crashTab, freshTablet, START_MS, type Tablet } from "./support/tablet";

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

let server: MemoryServer;
let tablet: Tablet;

beforeEach(async () => {
  server = new MemoryServer();
  tablet = await freshTablet({ fetch: server.fetch });
  server.keys = tablet.server;
  forgetToken();
  signOutPerson();
});

const contact = () => noteContact(new Date(START_MS).toISOString(), tablet.clock.ms);

describe("time without the server", () => {
  it("ends after seven days to the millisecond", async () => {
    expect(await offlineTooLong()).toBe(true);
    await contact();
    tablet.clock.ms += 7 * DAY_MS;
    expect(await offlineTooLong()).toBe(false);
    tablet.clock.ms += 1;
    expect(await offlineTooLong()).toBe(true);
    await contact();
    expect(await offlineTooLong()).toBe(false);
  });

  it("is counted on where the clock was put back, before and after a look at it", async () => {
    await contact();
    tablet.clock.ms += DAY_MS;
    expect(await noteTime()).toBe(DAY_MS);
    tablet.clock.ms -= 100 * DAY_MS;
    expect(await noteTime()).toBe(DAY_MS);
    // The highest time ever seen would stand still for another 99 days.
    tablet.clock.ms += 6 * DAY_MS;
    expect(await noteTime()).toBe(7 * DAY_MS);
    tablet.clock.ms += 1;
    expect(await offlineTooLong()).toBe(true);
    tablet.clock.ms = START_MS;
    expect(await offlineTooLong()).toBe(true);
  });

  it("is over at once where the clock was put forward, until the server answers", async () => {
    await contact();
    tablet.clock.ms += 5 * 365 * DAY_MS;
    expect(await offlineTooLong()).toBe(true);
    tablet.clock.ms = START_MS + HOUR_MS;
    expect(await offlineTooLong()).toBe(true);
    await contact();
    expect(await offlineTooLong()).toBe(false);
    tablet.clock.ms += 7 * DAY_MS;
    expect(await offlineTooLong()).toBe(false);
  });

  it("does not depend on how far the tablet's clock is from the server's", async () => {
    for (const off_ms of [-3 * DAY_MS, 3 * DAY_MS]) {
      tablet.clock.ms = START_MS + off_ms;
      await contact();
      expect(await noteTime()).toBe(0);
      tablet.clock.ms += 7 * DAY_MS;
      expect(await offlineTooLong()).toBe(false);
      tablet.clock.ms += 1;
      expect(await offlineTooLong()).toBe(true);
    }
  });

  it("survives a reload, and is counted by every try to reach the server", async () => {
    await contact();
    server.reachable = false;
    for (let day = 1; day <= 4; day += 1) {
      tablet.clock.ms += 2 * DAY_MS;
      await syncNow();
      await crashTab();
      tablet.clock.ms -= 2 * DAY_MS;
      await syncNow();
    }
    expect(await noteTime()).toBe(8 * DAY_MS);
  });

  it("never comes out shorter than it was between looks, whatever is done to the clock", async () => {
    const steps = fc.array(fc.oneof(
      fc.record({ passes_ms: fc.integer({ min: 0, max: 2 * DAY_MS }) }),
      fc.record({ set_ms: fc.integer({ min: -400 * DAY_MS, max: 400 * DAY_MS }) }),
      fc.constant("contact" as const),
    ), { maxLength: 20 });
    let highest_fails = 0;
    await fc.assert(fc.asyncProperty(steps, async (taken) => {
      tablet.clock.ms = START_MS;
      await contact();
      let really_ms = 0;
      let highest = START_MS;
      let from = START_MS;
      for (const step of taken) {
        if (step === "contact") {
          await contact();
          really_ms = 0;
          highest = from = tablet.clock.ms;
        } else if ("set_ms" in step) {
          tablet.clock.ms += step.set_ms;
        } else {
          tablet.clock.ms += step.passes_ms;
          really_ms += step.passes_ms;
        }
        highest = Math.max(highest, tablet.clock.ms);
        if (highest - from < really_ms) highest_fails += 1;
        expect(await noteTime()).toBeGreaterThanOrEqual(really_ms);
      }
    }), { numRuns: 60, seed: 20261128 });
    // The known-bad twin, which only remembers the highest time, loses days in some of these.
    expect(highest_fails).toBeGreaterThan(0);
  });

  it("is taken over from a version that kept the highest time only", async () => {
    await (await house()).put("identity", {
      last_contact: new Date(START_MS).toISOString(), clock_offset_ms: 0, highest_seen_ms: START_MS + 6 * DAY_MS,
    }, "contact");
    tablet.clock.ms = START_MS;
    expect(await noteTime()).toBe(6 * DAY_MS);
    tablet.clock.ms += DAY_MS + 1;
    expect(await offlineTooLong()).toBe(true);
  });
});

describe("the practice's own limit", () => {
  const says = async (offline_days: unknown) => (await house()).put("documents", {
    feed: "house", kind: "location", doc_id: tablet.identity.location_id, position: 1, body: { offline_days },
  });

  it("counts where it is between one day and thirty", async () => {
    for (const days of [1, 30]) {
      await says(days);
      await contact();
      tablet.clock.ms += days * DAY_MS;
      expect(await offlineTooLong()).toBe(false);
      tablet.clock.ms += 1;
      expect(await offlineTooLong()).toBe(true);
    }
    for (const nonsense of [0, 31, -1, "9", null, undefined, Number.NaN]) {
      await says(nonsense);
      expect(await offlineDays()).toBe(7);
    }
  });
});

describe("a PIN without the server", () => {
  it("stays shut over a reload, longer each time, and after ten wrong until the server is there", async () => {
    await signInWithPin(ALICE, server.pin);
    server.reachable = false;
    const wrong = () => signInWithPin(ALICE, "000000").catch((problem: unknown) => problem);
    for (let tried = 1; tried <= 4; tried += 1) expect(await wrong()).toMatchObject({ code: "pin_wrong", attempts_left: 5 - tried });
    // 1, 2, 4, 8 and 16 minutes, doubling; common practice, no source.
    for (const minutes of [1, 2, 4, 8, 16]) {
      const until = new Date(tablet.clock.ms + minutes * 60_000).toISOString().replace("Z", "+00:00");
      expect(await wrong()).toMatchObject({ code: "pin_locked", until });
      await crashTab();
      await expect(signInWithPin(ALICE, server.pin)).rejects.toMatchObject({ code: "pin_locked", until });
      tablet.clock.ms += minutes * 60_000;
    }
    expect(await wrong()).toMatchObject({ code: "pin_locked", until: null });
    await crashTab();
    tablet.clock.ms += 6 * DAY_MS;
    await expect(signInWithPin(ALICE, server.pin)).rejects.toMatchObject({ code: "pin_locked", until: null });
    server.reachable = true;
    expect(await signInWithPin(ALICE, server.pin)).toMatchObject({ mode: "online" });
    server.reachable = false;
    expect(await signInWithPin(ALICE, server.pin)).toMatchObject({ mode: "offline" });
  });
});
