import { describe, expect, it } from "vitest";
import type { DeviceCheck } from "../src/session/device-checks";
import type { DueRow } from "../src/session/due";
import { glanceAt, morePressing, trendsAreLoud, type LaserFacts } from "../src/session/glance";
import type { Trend } from "../src/session/trend";

const NOW = Date.parse("2026-11-27T09:00:00.000+01:00");
const check = (event_id: string, more: Partial<DeviceCheck> = {}): DeviceCheck => ({
  device_check_id: event_id, event_id, device_id: "d", kind: "start_of_day", list_id: "l", list_version: 1, list_event_id: null, title: "Start of day",
  answers: [], verdict: "passed", stated_verdict: "passed", failed: [], flags: [], note: null, done_at: "2026-11-27T07:40:00.000+01:00",
  written_at: "2026-11-27T07:40:00.000+01:00", received_at: null, late: false, checked_by: "p", ...more,
});
const row = (what: string, state: DueRow["state"], subject_id = "d"): DueRow => ({ what, subject_kind: "device", subject_id, due_on: "2026-11-27", state, detail: null });
const seen = (more: Partial<LaserFacts>) => glanceAt({ device_id: "d", checks: [], asked: true, due: [], out: [], alarm: false, ...more }, NOW, "Europe/Berlin");
const kinds = (more: Partial<LaserFacts>) => seen(more).needs.map((need) => (need.kind === "due" ? need.row.what : need.kind));

describe("what one laser needs today", () => {
  it("is nothing when today's check was passed and nothing is due", () => {
    const found = seen({ checks: [check("1")], due: [row("monthly", "soon"), row("weekly", "overdue", "other")] });
    expect(found.needs).toEqual([]);
    expect(found.today?.event_id).toBe("1");
  });

  it("is a check of today, where a list for the start of a day is in force", () => {
    const yesterday = [check("1", { done_at: "2026-11-26T07:40:00.000+01:00" })];
    expect(kinds({ checks: yesterday })).toEqual(["not_made"]);
    expect(kinds({ checks: yesterday, asked: false })).toEqual([]);
  });

  it("begins with what keeps it out of service, and says nothing twice", () => {
    const failed = check("1", { verdict: "failed", failed: ["key"] });
    expect(kinds({ checks: [failed], out: ["1"], alarm: true, due: [row("power_check", "overdue")] })).toEqual(["out", "trend", "power_check"]);
    // Let back by two people, the failed list of today is still one that nothing passed since.
    expect(kinds({ checks: [failed] })).toEqual(["failed"]);
  });
});

describe("three lasers beside one another", () => {
  it("stand with the one out of service above the one that drifts, and what is only due last", () => {
    const due = { name: "due", ...seen({ checks: [check("1")], due: [row("weekly", "overdue")] }) };
    const drifts = { name: "drifts", ...seen({ checks: [check("1")], alarm: true }) };
    const out = { name: "out", ...seen({ out: ["1"], alarm: true }) };
    const unseen = { name: "not made", ...seen({}) };
    expect([due, unseen, drifts, out].sort(morePressing).map(({ name }) => name)).toEqual(["out", "drifts", "not made", "due"]);
  });
});

describe("trends that should be looked at", () => {
  const says = (code: Trend["meaning"]["code"]): Pick<Trend, "meaning"> => ({ meaning: { code, direction: null, since: null, rate: null, reaches: null } });

  it("are those that drift or lie off, and a test cut that is more than 20 % off", () => {
    expect(trendsAreLoud([says("steady"), says("no_baseline"), says("empty")], says("steady"))).toBe(false);
    expect(trendsAreLoud([says("steady"), says("drifting")], null)).toBe(true);
    expect(trendsAreLoud([], says("beyond"))).toBe(true);
    // A failed power check is out of service; a cut puts nothing out, so it is said here or nowhere.
    expect(trendsAreLoud([says("failed")], null)).toBe(false);
    expect(trendsAreLoud([], says("failed"))).toBe(true);
  });
});
