/** An offer of the group as the forms it is published from: by value, with where it came from. */
import { expect, test, vi } from "vitest";

vi.hoisted(() => { (globalThis as { location?: unknown }).location ??= { hash: "" }; });
import { listForm, presetValues, versionOf } from "../src/screens/group/offer-forms";
import { changes, toPublish } from "../src/screens/lists/edit-form";
import type { Offer } from "../src/sync/rollouts";

const LIST: Offer = {
  offer_id: "offer-1", kind: "list", source_id: "theirs", version: 3, title: "Pause", effective_from: "2030-01-01", note: null,
  list: { kind: "pause", title: "Pause", items: [{ item_id: "a", text: "Standby", group: null, why: null, not_applicable: "plain" }], needs_acknowledgement: true, within_s: null },
  row: null, made_at: "2026-03-02T08:00:00.000Z", made_by: "Ash Standin", group_name: "Lantern", group_key: "0123", received_at: "2026-03-02T09:00:00.000Z",
  state: "open", answered: null, answered_by_name: null, subject_id: "ours", settings: null, preset: null, errors: {},
};

test("a list is published as the next version here, with the day that was asked for, and says which offer it was", () => {
  const said = toPublish(listForm(LIST, 7));
  expect(said).toMatchObject({ kind: "pause", title: "Pause", effective_from: "2030-01-01", needs_acknowledgement: true, from_draft: null, from_offer: "offer-1" });
  expect(said.items.map((item) => item.text)).toEqual(["Standby"]);
  expect(listForm(LIST, 7).base).toBe(7);
});

test("one that is the same as what counts here may be taken over all the same: that is an answer", () => {
  expect(changes(listForm({ ...LIST, effective_from: null, list: { ...LIST.list!, needs_acknowledgement: null } }, 7), versionOf(LIST))).toBe(true);
});

test("a preset whose laser is not here keeps its values and gets the laser and the tip that are chosen", () => {
  const offer: Offer = {
    ...LIST, kind: "preset", list: null, subject_id: null, errors: { laser: ["is not known here"] },
    row: { name: "Fine", spot_known: "label", focus: "focused", coolant: "none", laser: "Arm laser" },
    settings: { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" } } as never,
  };
  expect(presetValues(offer, "laser-9", "tip-9")).toMatchObject({
    name: "Fine", device_id: "laser-9", handpiece_id: "tip-9", spot_known: "label", focus: "focused", coolant: "none",
    settings: { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" } },
  });
});
