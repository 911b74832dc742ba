import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Item } from "../src/events/build";
import { backoffMs, batchLength, decide, judge, mayDrop } from "../src/outbox/policy";

const item = (tablet_seq: number): Item => ({
  event_id: `e${tablet_seq}`, tablet_seq, body: "{}", payload: "{}", salt: "", signature: "",
});
const result = (tablet_seq: number, outcome: string, more: object = {}): object => ({
  event_id: `e${tablet_seq}`, tablet_seq, outcome, ...more,
});

describe("back-off", () => {
  it("doubles from 1 s to 5 min, with the upper half left to chance", () => {
    expect([0, 1, 2, 3, 8, 9, 50].map((failures) => backoffMs(failures, 1))).toEqual(
      [1_000, 2_000, 4_000, 8_000, 256_000, 300_000, 300_000]);
    expect(backoffMs(3, 0)).toBe(4_000);
    expect(backoffMs(0, 0)).toBe(1_000);
  });

  it("stays within its limits for any number of failures", () => {
    fc.assert(fc.property(fc.nat(), fc.double({ min: 0, max: 1, noNaN: true }), (failures, fraction) => {
      const wait = backoffMs(failures, fraction);
      return wait >= 1_000 && wait <= 300_000;
    }));
  });
});

describe("a batch", () => {
  it("takes at most what fits, and always one", () => {
    expect(batchLength([], 50, 100)).toBe(0);
    expect(batchLength([500], 50, 100)).toBe(1);
    expect(batchLength([40, 60, 1], 50, 100)).toBe(2);
    expect(batchLength(Array<number>(80).fill(1), 50, 100)).toBe(50);
    expect(batchLength([1, 1, 1], 2, 100)).toBe(2);
  });
});

describe("a request's status", () => {
  it.each([
    [200, false, 5, "results"], [401, false, 5, "renew"], [401, true, 5, "pause"], [403, false, 5, "pause"],
    [409, false, 5, "pause"], [413, false, 5, "halve"], [413, false, 1, "pause"], [426, false, 5, "pause"],
    [500, false, 5, "wait"], [503, false, 5, "wait"], [429, false, 5, "wait"], [302, false, 5, "wait"],
    [408, false, 5, "wait"], [400, false, 5, "pause"], [404, false, 5, "pause"], [422, false, 5, "pause"],
    [null, false, 5, "wait"],
  ] as const)("%s (renewed %s, %s items) means %s", (status, renewed, length, kind) => {
    expect(decide(status, renewed, length).kind).toBe(kind);
  });

  it("follows a restored log, and no other conflict", () => {
    expect(decide(409, false, 5, "epoch_changed").kind).toBe("follow");
    expect(decide(409, false, 5, "something_else").kind).toBe("pause");
  });
});

describe("results", () => {
  it("settles each event by its own result", () => {
    const judged = judge([item(1), item(2), item(3)], [
      result(1, "applied", { position: 7 }), result(2, "duplicate", { position: 3 }), result(3, "conflict"),
    ], 1);
    expect(judged.settle.map((each) => each.tablet_seq)).toEqual([1, 2, 3]);
    expect(judged).toMatchObject({ next: "again", rewind_to: null, attention: null });
  });

  it("settles nothing by a result that names another event, or by none", () => {
    for (const results of [
      undefined, null, "ok", [], [null], [result(2, "applied")], [{ ...result(1, "applied"), event_id: "other" }],
      [{ ...result(1, "applied"), tablet_seq: 2 }], [result(1, "unheard of")], [result(1, "retry")],
    ]) {
      expect(judge([item(1)], results, 1)).toMatchObject({ settle: [], next: "wait" });
    }
  });

  it("keeps what came before the first that was not taken", () => {
    const judged = judge([item(1), item(2), item(3)],
      [result(1, "applied"), result(2, "retry"), result(3, "applied")], 1);
    expect(judged.settle.map((each) => each.tablet_seq)).toEqual([1]);
    expect(judged.next).toBe("wait");
  });

  it.each(["fork", "id_reuse"])("stops and calls for a person at %s", (outcome) => {
    expect(judge([item(1)], [result(1, outcome)], 1)).toMatchObject({
      settle: [], next: "stop", attention: { code: outcome, blocking: true },
    });
  });

  it("offers again what the server misses, or says that it cannot", () => {
    expect(judge([item(9)], [result(9, "gap", { expected_seq: 4 })], 2)).toMatchObject({ rewind_to: 4, next: "wait" });
    for (const expected_seq of [undefined, 1, 9, 12]) {
      expect(judge([item(9)], [result(9, "gap", { expected_seq })], 2)).toMatchObject({
        rewind_to: null, next: "stop", attention: { code: "gap", blocking: true },
      });
    }
  });

  it("says so as well where the first answer was lost", () => {
    expect(judge([item(1)], [result(1, "duplicate", { position: 2, verdict: "quarantined" })], 1)).toMatchObject({
      settle: [{ outcome: "quarantined", position: 2 }], next: "again", attention: { code: "quarantined" },
    });
    expect(judge([item(1)], [result(1, "duplicate", { position: 2, verdict: "odd" })], 1).settle).toMatchObject([
      { outcome: "duplicate" },
    ]);
  });

  it("settles what is quarantined, and says so", () => {
    expect(judge([item(1)], [result(1, "quarantined", { position: 2 })], 1)).toMatchObject({
      settle: [{ outcome: "quarantined" }], next: "again", attention: { code: "quarantined", blocking: false },
    });
  });
});

describe("dropping", () => {
  const DAY = 86_400_000;
  it.each([
    [{ position: 5 }, 30 * DAY, 5, true], [{ position: 5 }, 30 * DAY - 1, 5, false], [{ position: 6 }, 40 * DAY, 5, false],
    [{ position: 5 }, 40 * DAY, null, false], [{}, 40 * DAY, 5, false], [null, 40 * DAY, 5, false],
  ])("%j, %s ms old, backup to %s: %s", (outcome, age, durable, may) => {
    expect(mayDrop(outcome, age, durable)).toBe(may);
  });
});
