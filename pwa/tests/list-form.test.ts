import { describe, expect, it } from "vitest";
import {
  changes, difference, emptyItem, fromVersion, inserted, isSound, itemsOf, moved, newForm, problems, toPublish, type ListForm,
} from "../src/screens/lists/edit-form";
import type { ListItem, ListVersion } from "../src/session/types";

const TODAY = "2026-11-25";
const version: ListVersion = {
  kind: "time_out", version: 3, title: "Time-out",
  items: [{ item_id: "a", text: "A", group: "One", why: null, not_applicable: "never", beside: null }, { item_id: "b", text: "B" }],
};
const form = (more: Partial<ListForm> = {}): ListForm => ({ ...fromVersion(version, 3), ...more });

describe("a list while it is changed", () => {
  it("moves by one place and not over the ends", () => {
    expect(moved(["a", "b", "c"], 2, -1)).toEqual(["a", "c", "b"]);
    expect(moved(["a", "b", "c"], 0, 1)).toEqual(["b", "a", "c"]);
    expect(moved(["a", "b"], 0, -1)).toEqual(["a", "b"]);
    expect(moved(["a", "b"], 1, 1)).toEqual(["a", "b"]);
  });

  it("takes a removed item back into its place", () => expect(inserted(["a", "c"], 1, "b")).toEqual(["a", "b", "c"]));

  it("keeps the ids of its items, and gives new ones their own", () => {
    expect(itemsOf(form()).map((item) => item.item_id)).toEqual(["a", "b"]);
    expect(emptyItem().item_id).not.toBe(emptyItem().item_id);
  });

  it("is published on the version it was made of, with nothing said as null", () => {
    const said = toPublish(form({ title: " Time-out, new ", effective: "day", day: "2026-12-01", ask: true }));
    expect(said).toEqual({
      kind: "time_out", title: "Time-out, new", effective_from: "2026-12-01", needs_acknowledgement: true, within_s: null, from_draft: null,
      items: [{ item_id: "a", text: "A", group: "One", why: null, not_applicable: "never", beside: null }, { item_id: "b", text: "B", group: null, why: null, not_applicable: "plain", beside: null }],
    });
    expect(toPublish(form({ day: "2026-12-01" })).effective_from).toBeNull();
  });
});

describe("what stands against publishing", () => {
  const items = (...texts: string[]) => texts.map((text) => ({ ...emptyItem(), text }));
  const wrong = (more: Partial<ListForm>) => problems(form(more), TODAY);

  it("is nothing where all is said", () => expect(isSound(wrong({}))).toBe(true));
  it("is a missing title", () => expect(wrong({ title: "  " }).title).toBe("title"));
  it("is a list without items", () => expect(wrong({ items: [] }).list).toBe("none"));
  it("is an item without words, named by its id", () => {
    const made = items("A", " ");
    expect(wrong({ items: made }).items).toEqual({ [made[1]!.item_id]: "text" });
  });
  it("is the same question twice", () => {
    const made = items("Consent is there", "consent is there ");
    expect(wrong({ items: made }).items).toEqual({ [made[1]!.item_id]: "same" });
  });
  it("is more than 400 characters, as the log takes", () => {
    expect(Object.values(wrong({ items: items("x".repeat(401)) }).items)).toEqual(["long"]);
    expect(isSound(wrong({ items: items("x".repeat(400)) }))).toBe(true);
  });
  it("is a day that has gone, or none at all; today will do", () => {
    expect(wrong({ effective: "day", day: "2026-11-24" }).day).toBe("day");
    expect(wrong({ effective: "day", day: "" }).day).toBe("day");
    expect(wrong({ effective: "day", day: TODAY }).day).toBeNull();
    expect(wrong({ effective: "now", day: "2026-11-24" }).day).toBeNull();
  });
});

describe("whether a new version would say anything new", () => {
  it("does not for the same text", () => {
    expect(changes(form(), version)).toBe(false);
    expect(changes(form({ title: "Time-out " }), version)).toBe(false);
  });
  it("does for other words, another order, a wish that it be read, a draft taken up, a first version", () => {
    const [a, b] = form().items as [ListForm["items"][0], ListForm["items"][0]];
    expect(changes(form({ items: [{ ...a, text: "A!" }, b] }), version)).toBe(true);
    expect(changes(form({ items: [b, a] }), version)).toBe(true);
    expect(changes(form({ ask: true }), version)).toBe(true);
    expect(changes({ ...fromVersion({ ...version, kind: "after_use" }, 3), within_s: 600 }, { ...version, kind: "after_use" })).toBe(true);
    expect(changes(fromVersion({ ...version, kind: "after_use" }, 3), { ...version, kind: "after_use" })).toBe(false);
    expect(changes(form({ from_draft: "e1" }), version)).toBe(true);
    expect(changes(newForm("pause", "Pause"), null)).toBe(true);
  });
});

describe("how two texts differ", () => {
  const item = (item_id: string, text = item_id): ListItem => ({ item_id, text });
  const [a, b, c] = [item("a"), item("b"), item("c")];
  it("says it at each item", () => {
    expect(difference(a, [a, b], [a, b])).toBeNull();
    expect(difference(c, [a, b, c], [a, b])).toBe("only here");
    expect(difference(item("a", "other"), [item("a", "other"), b], [a, b])).toBe("other words");
    expect(difference(a, [a, b], [b, a])).toBe("other place");
  });
  it("does not call an item moved because another was put in before it", () => {
    expect(difference(b, [a, b], [a, c, b])).toBeNull();
    expect(difference(b, [a, c, b], [a, b])).toBeNull();
  });
});
