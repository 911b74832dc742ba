import { describe, expect, it } from "vitest";
import { asRecorded, counted, current, lacksReason, othersOpen, type Answer, type Answers } from "../src/screens/lists/answers";
import type { Given } from "../src/session/lists";
import type { ListItem } from "../src/session/types";

const items: ListItem[] = [
  { item_id: "a", text: "A" }, { item_id: "b", text: "B", not_applicable: "reason" }, { item_id: "c", text: "C" },
];
const gave = (answer: Given, more: Partial<Answer> = {}): Answer =>
  ({ answer, answered_at: "2026-11-25T10:00:00.000+01:00", by: "assi", note: null, typed: "", later: false, ...more });
const next = (answers: Answers) => current(items, answers)?.item_id ?? null;

describe("which item is asked", () => {
  it("is the first one without an answer", () => {
    expect(next({})).toBe("a");
    expect(next({ a: gave("yes") })).toBe("b");
    expect(next({ a: gave("yes"), c: gave("yes") })).toBe("b");
  });

  it("stays the one whose no has no reason yet", () => {
    expect(next({ a: gave("no") })).toBe("a");
    expect(next({ a: gave("no", { typed: "half a reas" }) })).toBe("a");
    expect(next({ a: gave("no", { note: "why" }) })).toBe("b");
  });

  it("asks for a reason of not applicable only where the item does", () => {
    expect(next({ a: gave("not applicable") })).toBe("b");
    expect(next({ a: gave("yes"), b: gave("not applicable") })).toBe("b");
    expect(lacksReason(items[0]!, { a: gave("not applicable") })).toBe(false);
    expect(lacksReason(items[1]!, { b: gave("not applicable") })).toBe(true);
  });

  it("comes back to a reason that was put off, and is none only when nothing is missing", () => {
    const off = { a: gave("no", { later: true }) };
    expect(next(off)).toBe("b");
    expect(othersOpen(items, off)).toBe(true);
    const rest = { ...off, b: gave("yes"), c: gave("yes") };
    expect(next(rest)).toBe("a");
    expect(othersOpen(items, rest)).toBe(false);
    expect(next({ ...rest, a: gave("no", { note: "why", later: true }) })).toBeNull();
  });
});

describe("what the record keeps", () => {
  const answers = {
    c: gave("yes", { answered_at: "2026-11-25T10:00:09.000+01:00", by: "dent" }),
    a: gave("no", { note: "sent for", typed: "sent for" }),
    b: gave("not applicable", { note: "no gas here" }),
  };

  it("is each answer with its own time, person and reason, in the order of the list", () => {
    expect(asRecorded(items, answers)).toEqual([
      { item_id: "a", text: "A", answer: "no", note: "sent for", answered_at: "2026-11-25T10:00:00.000+01:00", by: "assi" },
      { item_id: "b", text: "B", answer: "not applicable", note: "no gas here", answered_at: "2026-11-25T10:00:00.000+01:00", by: "assi" },
      { item_id: "c", text: "C", answer: "yes", note: null, answered_at: "2026-11-25T10:00:09.000+01:00", by: "dent" },
    ]);
  });

  it("has no reason left over from an answer that was changed", () => {
    const [first] = asRecorded(items, { ...answers, a: gave("yes", { note: "was a no", typed: "was a no" }) });
    expect(first?.note).toBeNull();
  });

  it("counts", () => expect(counted(answers)).toEqual({ yes: 1, no: 1, "not applicable": 1 }));
});
