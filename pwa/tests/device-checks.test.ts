import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import type { DeviceChecked } from "../src/events/catalogue";
import { judge, LATE_AFTER_MS, moments } from "../src/session/check-verdict";
import { checksOfDevice, failing, todaysCheck, versionAsked, withOwn, type DeviceCheck } from "../src/session/device-checks";
import { localDay } from "../src/session/lists";
import type { ListDocument } from "../src/session/types";

interface VerdictCase {
  name: string; why: string; kind: string; list_kind: string | null; items: [string, string | null][];
  answers: [string, "yes" | "no" | "not applicable", string | null][]; stated: "passed" | "failed"; verdict: string; failed: string[]; flags: string[];
}
interface MomentCase { name: string; claimed: string; written: string; done: string; late: boolean; flags: string[] }
interface DayCase { name: string; at: string; zone: string; day: string }
const vectors = JSON.parse(readFileSync(new URL("../../tests/vectors/device_checks.json", import.meta.url), "utf8")) as {
  verdicts: VerdictCase[]; moments: MomentCase[]; days: DayCase[];
};

const answersOf = (rows: VerdictCase["answers"]) => rows.map(([item_id, answer, note]) =>
  ({ item_id, text: item_id, answer, note, answered_at: "2026-11-27T07:40:00.000+01:00" }));

describe("a check of a laser by a list", () => {
  it.each(vectors.verdicts)("$name", (one) => {
    const version = one.list_kind ? { kind: one.list_kind, items: one.items.map(([item_id, not_applicable]) => ({ item_id, not_applicable })) } : null;
    const found = judge({ kind: one.kind, answers: answersOf(one.answers), verdict: one.stated }, version);
    expect(found, one.why).toEqual({ verdict: one.verdict, failed: one.failed, flags: one.flags });
  });

  it.each(vectors.moments)("counts as done when it was: $name", (one) => {
    expect(moments(one.claimed, one.written)).toEqual({ done_at: one.done, late: one.late, flags: one.flags });
  });

  it.each(vectors.days)("is of its day: $name", ({ at, zone, day }) => expect(localDay(Date.parse(at), zone)).toBe(day));

  it("has the limit that the vectors were made for", () => expect(LATE_AFTER_MS).toBe(43_200_000));
});

const list: ListDocument = {
  list_id: "l", kind: "start_of_day", version: 2, title: "Start of day", items: [{ item_id: "key", text: "Key" }], event_id: "p2",
  versions: [{ kind: "start_of_day", version: 2, title: "Start of day", items: [{ item_id: "key", text: "Key" }], event_id: "p2" }],
  drafts: [{ kind: "start_of_day", version: 2, title: "Start of day", items: [{ item_id: "cable", text: "Cable" }], event_id: "d2", base_version: 1 }],
};
const said: DeviceChecked = {
  device_id: "d", kind: "start_of_day", list_id: "l", list_version: 2, list_event_id: "p2", title: "Start of day",
  answers: answersOf([["key", "yes", null]]), verdict: "passed", done_at: "2026-11-27T07:40:00.000+01:00", note: null,
};
const event = (id: string, more: Partial<DeviceChecked> = {}, written_at = "2026-11-27T07:41:00.000+01:00", outcome: string | null = null) => ({
  body: { event_id: id, type: "device.checked", entity_id: `check-${id}`, occurred_at: written_at, actor_id: "p" },
  payload: { ...said, ...more }, result: outcome === null ? null : { outcome },
}) as unknown as Parameters<typeof withOwn>[1][number];
const made = (...events: ReturnType<typeof event>[]): DeviceCheck[] => withOwn([], events, [list]);

describe("what this tablet has written and not had back", () => {
  it("counts at once, judged as the server will", () => {
    const [one] = made(event("1", { answers: answersOf([["key", "no", "does not turn"]]) }));
    expect(one).toMatchObject({ verdict: "failed", stated_verdict: "passed", failed: ["key"], received_at: null, checked_by: "p", late: false });
  });

  it("counts once when it has come back, and not at all when it was put aside", () => {
    const [back] = made(event("1"));
    expect(withOwn([back!], [event("1", {}, undefined, "applied")], [list])).toHaveLength(1);
    expect(made(event("1", {}, undefined, "quarantined"))).toEqual([]);
  });

  it("was asked the text that it names, of two with one number", () => {
    expect(versionAsked([list], said)?.items[0]!.item_id).toBe("key");
    expect(versionAsked([list], { ...said, list_event_id: "d2" })?.items[0]!.item_id).toBe("cable");
    expect(versionAsked([list], { ...said, list_event_id: null })?.event_id).toBe("p2");
    expect(versionAsked([], said)).toBeNull();
  });
});

describe("today's check of a laser", () => {
  const at = (text: string) => Date.parse(text);
  const morning = made(event("1"), event("2", { kind: "end_of_day", done_at: "2026-11-27T18:00:00.000+01:00" }, "2026-11-27T18:00:00.000+01:00"));

  it("is one of this day by the calendar of the location", () => {
    expect(todaysCheck(morning, "d", "start_of_day", at("2026-11-27T23:59:00.000+01:00"), "Europe/Berlin")?.event_id).toBe("1");
    expect(todaysCheck(morning, "d", "start_of_day", at("2026-11-28T00:00:00.000+01:00"), "Europe/Berlin")).toBeNull();
    // In Chicago that same moment is still the 27th.
    expect(todaysCheck(morning, "d", "start_of_day", at("2026-11-28T00:00:00.000+01:00"), "America/Chicago")?.event_id).toBe("1");
    expect(todaysCheck(morning, "other", "start_of_day", at("2026-11-27T09:00:00.000+01:00"), "Europe/Berlin")).toBeNull();
  });

  it("is the last one made, and a failed one stays until one passes", () => {
    const no = { answers: answersOf([["key", "no", "stuck"]]), verdict: "failed" as const };
    const failed = made(event("1"), event("2", { ...no, done_at: "2026-11-27T08:00:00.000+01:00" }, "2026-11-27T08:00:00.000+01:00"));
    expect(todaysCheck(failed, "d", "start_of_day", at("2026-11-27T09:00:00.000+01:00"), "Europe/Berlin")?.verdict).toBe("failed");
    expect(failing(failed, "d").map(({ event_id }) => event_id)).toEqual(["2"]);
    const mended = [...failed, ...made(event("3", { done_at: "2026-11-27T09:00:00.000+01:00" }, "2026-11-27T09:00:00.000+01:00"))];
    expect(failing(mended, "d")).toEqual([]);
    expect(checksOfDevice(mended, "d").map(({ event_id }) => event_id)).toEqual(["3", "2", "1"]);
  });
});
