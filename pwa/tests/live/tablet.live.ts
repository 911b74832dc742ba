/** The tablet's own program against the real server: enrol, sign in, pull, push, lose replies, witness. */

import { beforeAll, describe, expect, it } from "vitest";
import { setSurroundings, surroundings } from "../../src/events/surroundings";
import { newId } from "../../src/events/ids";
import { append } from "../../src/outbox/append";
import { countWaiting, readEvents } from "../../src/outbox/read";
import { claimWriter } from "../../src/outbox/writer";
import { chain, documents } from "../../src/store/documents";
import { attention, contact } from "../../src/store/identity";
import { enrol } from "../../src/sync/enrol";
import { signInWithPin } from "../../src/sync/people";
import { status, syncNow } from "../../src/sync/service";
import { freshTablet } from "../support/tablet";

const {
  DOSEBOOK_URL = "", DOSEBOOK_CODE = "", DOSEBOOK_PERSON = "", DOSEBOOK_PIN = "", DOSEBOOK_RECORD = "", DOSEBOOK_NOW_MS = "",
} = process.env;

/** Cuts the reply of the n-th push after the server has done its work. */
const cut = { at: 0, pushes: 0 };

beforeAll(async () => {
  await freshTablet({ fetch: async (path, init) => {
    const answer = await fetch(DOSEBOOK_URL + path, init);
    if (path.endsWith("sync/push") && ++cut.pushes === cut.at) {
      await answer.arrayBuffer();
      throw new TypeError("the reply was cut");
    }
    return answer;
  } }, false);
  setSurroundings({ ...surroundings(), now: () => Number(DOSEBOOK_NOW_MS) });
});

describe("a tablet", () => {
  it("enrols with a code", async () => {
    const who = await enrol(DOSEBOOK_CODE, "Tablet of this test");
    expect(who.label).toBe("Tablet of this test");
    await expect(claimWriter()).resolves.toBe("writer");
  });

  it("pulls the house and recomputes the log to its signed head", async () => {
    await syncNow();
    expect(await attention()).toBeNull();
    expect((await chain())?.position).toBeGreaterThan(0);
    expect((await chain())?.heads).toEqual([]);
    expect((await documents("person")).length).toBeGreaterThan(0);
    // Both clocks stand still at the same moment.
    expect((await contact()).clock_offset_ms).toBe(0);
  });

  it("refuses a wrong PIN and takes the right one", async () => {
    await expect(signInWithPin(DOSEBOOK_PERSON, DOSEBOOK_PIN === "000000" ? "111111" : "000000"))
      .rejects.toMatchObject({ code: "pin_wrong", attempts_left: 4 });
    expect(await signInWithPin(DOSEBOOK_PERSON, DOSEBOOK_PIN)).toMatchObject({ mode: "online" });
  });

  it("brings every event to the log once, whatever happens to the replies", async () => {
    const record_id = newId();
    const saved = await append(Array.from({ length: 60 }, (_, index) => ({
      type: "procedure.noted", entity_id: record_id, payload: { text: `note ${index} \u00e9 \u2028 \u{1f600} "` },
    })), DOSEBOOK_PERSON);
    expect(saved).toHaveLength(60);
    cut.at = cut.pushes + 1;
    await syncNow();
    expect(await status()).toMatchObject({ online: false, waiting: 60 });
    await syncNow();
    expect(await countWaiting()).toBe(0);
    const results = (await readEvents()).map((event) => event.result as { outcome: string; position: number });
    expect(results.slice(0, 50).map(({ outcome }) => outcome)).toEqual(Array(50).fill("duplicate"));
    expect(new Set(results.map(({ outcome }) => outcome))).toEqual(new Set(["duplicate", "applied"]));
    expect(new Set(results.map(({ position }) => position)).size).toBe(60);
    expect(await attention()).toBeNull();
  });

  it("pulls records for a person who may read them, and sees its own entries in the chain", async () => {
    await syncNow();
    const highest = Math.max(...(await readEvents()).map((event) => (event.result as { position: number }).position));
    expect((await chain())?.position).toBeGreaterThanOrEqual(highest);
    expect(await documents("record")).toContainEqual(
      expect.objectContaining({ record_id: DOSEBOOK_RECORD, status: "signed", version: 1 }));
    expect(await status()).toMatchObject({ online: true, waiting: 0, attention: null });
  });
});
