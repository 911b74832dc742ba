import { beforeAll, beforeEach, describe, expect, it } from "vitest";
import { readEvents } from "../src/outbox/read";
import { acknowledgeList, noteAnswers, publishList, setDraftAside, type NewVersion } from "../src/session/commands_lists";
import { fold, type RecordDocument } from "../src/session/fold";
import { house } from "../src/session/house";
import { listFor, lists } from "../src/session/house_lists";
import { lateness, toRead } from "../src/session/lists";
import { person, seat } from "../src/session/state";
import type { ListDocument, ListVersion } from "../src/session/types";
import { write } from "../src/session/commands";
import { forgetWritten, readyToFold } from "../src/session/written";
import { freshTablet } from "./support/tablet";

const first: ListVersion = {
  kind: "before_patient", version: 1, title: "Before", items: [{ item_id: "a", text: "A" }], event_id: "e1",
  published_at: "2026-11-01T08:00:00.000+01:00", published_by: "officer",
};
const known: ListDocument = { ...first, list_id: "l1", versions: [first], drafts: [], acknowledged_by: [] };
const next = (more: Partial<NewVersion> = {}): NewVersion => ({
  kind: "before_patient", title: "Before, again", items: [{ item_id: "a", text: "A" }], effective_from: null,
  needs_acknowledgement: false, within_s: null, from_draft: null, ...more,
});
const answer = { item_id: "a", text: "A", answer: "yes" as const, note: null, answered_at: "2026-11-25T10:00:00.000+01:00", by: "assi" };
const now = () => listFor("before_patient", Date.parse("2026-11-25T12:00:00.000+01:00"));

async function record(): Promise<RecordDocument> {
  return fold((await readEvents()).filter((e) => e.body.entity_id === "rec"));
}

beforeAll(readyToFold);
beforeEach(async () => {
  await freshTablet();
  forgetWritten();
  seat.value = "tablet";
  person.value = { person_id: "officer", display_name: "O", initials: "O", roles: ["safety_officer", "assistant"] };
  house.value = { ...house.value, place: { location_id: "l", name: "", practice_name: "", zone: "Europe/Berlin", rooms: [] }, lists: [known], records: [] };
});

describe("a version published on a tablet", () => {
  it("names the version it builds on, and counts here before the server has it", async () => {
    expect(await publishList("l1", 1, next(), "key-1")).toBe(2);
    const [event] = await readEvents();
    expect(event?.body).toMatchObject({ type: "list.published", entity_id: "l1", base_version: 1, actor_id: "officer" });
    expect(event?.payload).toMatchObject({ version: 2, title: "Before, again", effective_from: null });
    expect(now()?.version.version).toBe(2);
    expect(lists.value[0]?.versions?.map((v) => v.version)).toEqual([1, 2]);
  });

  it("leaves the earlier one in force until its day", async () => {
    await publishList("l1", 1, next({ effective_from: "2026-11-26" }), "key-1");
    expect(now()?.version.version).toBe(1);
    expect(listFor("before_patient", Date.parse("2026-11-26T00:00:00.000+01:00"))?.version.version).toBe(2);
  });

  it("begins a list that there was not", async () => {
    expect(await publishList("l2", null, next({ kind: "pause" }), "key-1")).toBe(1);
    expect((await readEvents())[0]?.body.base_version).toBeNull();
  });

  it("is counted once when the server's copy has come", async () => {
    await publishList("l1", 1, next(), "key-1");
    const [event] = await readEvents();
    const second = { ...first, ...next(), version: 2, event_id: event!.event_id };
    house.value = { ...house.value, lists: [{ ...known, ...second, list_id: "l1", versions: [first, second] }] };
    expect(lists.value[0]?.versions).toHaveLength(2);
  });
});

describe("what is said about a version", () => {
  const assistant = { person_id: "assi", display_name: "A", initials: "A", roles: ["assistant"] };

  it("is that somebody has read it", async () => {
    house.value = { ...house.value, lists: [{ ...known, versions: [{ ...first, needs_acknowledgement: true }] }] };
    expect(toRead(lists.value[0]!, assistant)?.version).toBe(1);
    person.value = assistant;
    await acknowledgeList("l1", 1);
    expect((await readEvents())[0]).toMatchObject({ body: { type: "list.acknowledged", actor_id: "assi" }, payload: { version: 1 } });
    expect(toRead(lists.value[0]!, assistant)).toBeNull();
  });

  it("is that a draft is set aside, and which", async () => {
    house.value = { ...house.value, lists: [{ ...known, drafts: [{ ...first, version: 2, event_id: "d1", base_version: 1 }] }] };
    await setDraftAside("l1", "d1", "said already");
    expect((await readEvents())[0]?.body).toMatchObject({ type: "list.set_aside", corrects: "d1" });
    expect(lists.value[0]?.drafts).toEqual([]);
  });
});

describe("a list answered in a procedure", () => {
  beforeEach(async () => {
    await write([{ type: "procedure.opened", entity_id: "rec", payload: { site: "lip", started_at: "2026-11-25T10:00:00.000+01:00" } }]);
  });

  it("is written by its kind, with the version it was begun with", async () => {
    await noteAnswers(await record(), { list_id: "l1", version: first }, "before_patient", [answer], "dent");
    const event = (await readEvents()).at(-1)!;
    expect(event.body.type).toBe("list.answered");
    expect(event.payload).toEqual({
      kind: "before_patient", within_s: null, list_id: "l1", list_version: 1, title: "Before", answers: [answer], led_by: "dent",
    });
    expect(lateness(await record()).map((row) => row.state)).toEqual(["in time", "not answered", "not answered"]);
  });

  it("takes along how long after the end it may be answered", async () => {
    await noteAnswers(await record(), { list_id: "l3", version: { ...first, kind: "after_use", within_s: 900 } }, "after_use", [answer], "assi");
    expect((await record()).lists[0]).toMatchObject({ kind: "after_use", within_s: 900 });
  });

  it("stays a time-out where it is one", async () => {
    await noteAnswers(await record(), { list_id: "l0", version: { ...first, kind: "time_out" } }, "time_out", [answer], "dent");
    expect((await readEvents()).at(-1)!.body.type).toBe("timeout.answered");
    expect((await record()).time_out?.led_by).toBe("dent");
  });

  it("is refused once the record is signed", async () => {
    const signed = { ...(await record()), status: "signed" as const };
    await expect(noteAnswers(signed, { list_id: "l1", version: first }, "after_use", [answer], "dent")).rejects.toMatchObject({ code: "signed" });
  });
});
