import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { AFTER_USE_WITHIN_S, inForce, lateness, needsReason, takes, toRead, upcoming, type Answerable } from "../src/session/lists";
import type { ListDocument, ListVersion } from "../src/session/types";

const vectors = <T>(name: string): T[] =>
  (JSON.parse(readFileSync(new URL(`../../tests/vectors/${name}.json`, import.meta.url), "utf8")) as { cases: T[] }).cases;

interface DayCase { name: string; versions: [number, string | null][]; zone: string; at: string; in_force: number | null; upcoming: number[] }
interface LateCase { name: string; record: Answerable; after_use_within_s?: number; rows: unknown[][] }

const version = (number: number, more: Partial<ListVersion> = {}): ListVersion => ({
  kind: "time_out", version: number, title: "Time-out", items: [{ item_id: "one", text: `One, version ${number}` }], ...more,
});
const list = (versions: ListVersion[], more: Partial<ListDocument> = {}): ListDocument => ({
  ...(versions[versions.length - 1] ?? version(0)), list_id: "l", versions, drafts: [], acknowledged_by: [], ...more,
});

describe("which version is in force", () => {
  it.each(vectors<DayCase>("lists_in_force"))("$name", (one) => {
    const doc = list(one.versions.map(([number, effective_from]) => version(number, { effective_from })));
    const at = Date.parse(one.at);
    expect(inForce(doc, at, one.zone)?.version ?? null).toBe(one.in_force);
    expect(upcoming(doc, at, one.zone).map((v) => v.version)).toEqual(one.upcoming);
  });

  it("takes a document of before all versions were kept for the one version it is", () => {
    const old: ListDocument = { ...version(3), list_id: "l" };
    expect(inForce(old, 0, "UTC")?.version).toBe(3);
  });
});

describe("what was answered late", () => {
  it.each(vectors<LateCase>("lateness"))("$name", (one) => {
    const rows = lateness(one.record, one.after_use_within_s ?? AFTER_USE_WITHIN_S);
    expect(rows.map((r) => [r.kind, r.state, r.late_by_s, r.completed_at, r.pause_from_at])).toEqual(one.rows);
  });

  it("has the limit that the vectors were made for", () => expect(AFTER_USE_WITHIN_S).toBe(1800));
});

describe("who has still to read a list", () => {
  const assistant = { person_id: "assi", roles: ["assistant"] };
  const ack = (person_id: string, number: number) => ({ person_id, version: number, at: "2026-11-25T10:00:00.000+01:00" });

  it("is everybody at the chair but who published it", () => {
    const doc = list([version(1, { needs_acknowledgement: true, published_by: "officer" })]);
    expect(toRead(doc, assistant)?.version).toBe(1);
    expect(toRead(doc, { person_id: "officer", roles: ["assistant", "safety_officer"] })).toBeNull();
    expect(toRead(doc, { person_id: "desk", roles: ["front_desk"] })).toBeNull();
  });

  it("is nobody where no version asks for it", () => expect(toRead(list([version(1), version(2)]), assistant)).toBeNull());

  it("is who has acknowledged only an earlier version", () => {
    const doc = list([version(1, { needs_acknowledgement: true }), version(2, { needs_acknowledgement: true })], { acknowledged_by: [ack("assi", 1)] });
    expect(toRead(doc, assistant)?.version).toBe(2);
    expect(toRead({ ...doc, acknowledged_by: [ack("assi", 2)] }, assistant)).toBeNull();
  });

  it("reads the newest text, where a small change came after the one that asked", () => {
    const doc = list([version(1, { needs_acknowledgement: true }), version(2)]);
    expect(toRead(doc, assistant)?.version).toBe(2);
    expect(toRead({ ...doc, acknowledged_by: [ack("assi", 1)] }, assistant)).toBeNull();
  });
});

describe("an answer", () => {
  const item = (not_applicable?: "plain" | "reason" | "never") => ({ item_id: "i", text: "I", not_applicable });
  it("of no always says why; of not applicable where the item asks for it", () => {
    expect(needsReason(item(), "no")).toBe(true);
    expect(needsReason(item(), "yes")).toBe(false);
    expect(needsReason(item(), "not applicable")).toBe(false);
    expect(needsReason(item("reason"), "not applicable")).toBe(true);
  });
  it("of not applicable is not taken by an item that always applies", () => {
    expect(takes(item("never"), "not applicable")).toBe(false);
    expect(takes(item("never"), "no")).toBe(true);
    expect(takes(item("reason"), "not applicable")).toBe(true);
    expect(takes(item(), "not applicable")).toBe(true);
  });
});
