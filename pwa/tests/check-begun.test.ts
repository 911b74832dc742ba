import { describe, expect, it } from "vitest";
import { doneAt, toCheck, type Begun } from "../src/screens/checks/begun";

const ZONE = "Europe/Berlin";
const begun = (more: Partial<Begun> = {}): Begun => ({
  key: "k", list_id: "l", version: { version: 1, kind: "start_of_day", title: "Start of day", items: [{ item_id: "key", text: "Key" }] } as unknown as Begun["version"],
  answers: { key: { answer: "yes", answered_at: "2026-11-26T07:40:00.000+01:00", by: "p", note: null, typed: "", later: false } },
  begun_at: "2026-11-26T07:40:00.000+01:00", note: "", earlier: null, ...more,
});

describe("when a check by a list was done", () => {
  it("is just now, on the day on which it was begun", () => {
    const now = "2026-11-26T23:59:00.000+01:00";
    expect(doneAt(begun(), now, ZONE)).toBe(now);
  });

  it("is not just now for what was looked at yesterday: today was not checked", () => {
    const now = "2026-11-27T00:01:00.000+01:00";
    expect(doneAt(begun(), now, ZONE)).toBeNull();
    expect(toCheck(begun(), "d", "start_of_day", now, ZONE)).toBeNull();
    // Nothing answered yet: it begins now.
    expect(doneAt(begun({ answers: {} }), now, ZONE)).toBe(now);
    const said = toCheck(begun({ earlier: "2026-11-26T07:45" }), "d", "start_of_day", now, ZONE)!;
    expect(Date.parse(said.done_at!)).toBe(Date.parse(doneAt(begun({ earlier: "2026-11-26T07:45" }), now, ZONE)!));
    expect(Date.parse(said.done_at!)).toBeLessThan(Date.parse(now));
  });
});
