/** Lasers and tips that this tablet registered or retired without a network are offered, or no more, at once. */
import { beforeEach, describe, expect, it } from "vitest";
import type { StoredEvent } from "../src/outbox/read";
import { house, type House } from "../src/session/house";
import { forgetWritten, readyToFold, take } from "../src/session/written";

let seq = 0;
function said(type: string, entity_id: string, payload: object, result: object | null = null): StoredEvent {
  seq += 1;
  const event_id = `0197f000-0000-7000-8000-${String(seq).padStart(12, "0")}`;
  return {
    tablet_seq: seq, event_id, payload, state: result ? "settled" : "waiting", result, body_hash: "", saved_at: "",
    body: { event_id, type, entity_id, tablet_id: "t", tablet_seq: seq, actor_id: "p", occurred_at: `2026-11-25T08:00:${String(seq).padStart(2, "0")}.000+01:00`, clock_offset_ms: 0 },
  } as unknown as StoredEvent;
}
const laser = (label: string) => ({ label, maker: "Invented Works", model: "Test", serial: label, wavelength: "10.6 um", modes: ["continuous"], limits: {}, room_id: null });
const tip = (label: string, device_id: string) => ({ label, device_id, kind: "focusing handpiece", spot_diameter: "0.25 mm" });
const known = { device_id: "d1", status: "current", ...laser("One"), event_id: "0197e000-0000-7000-8000-000000000001", at: "2026-11-24T08:00:00.000+01:00", by: "p" };
const empty = house.value;
const offered = (): string[] => house.value.devices.map(({ label }) => label);

beforeEach(async () => {
  await readyToFold();
  forgetWritten();
  seq = 0;
  house.value = { ...empty, devices: [known] as unknown as House["devices"], documents: { device: [known] } };
});

describe("lasers and tips of this tablet's own", () => {
  it("leaves the register as it is while nothing was said of it", () => {
    const before = house.value;
    take([said("device.taken_out", "d1", { reason_code: "other", reason: "r", key_held_by: null })]);
    expect(house.value).toBe(before);
    expect(offered()).toEqual(["One"]);
  });

  it("offers a laser and its tip from when they were registered, in order", () => {
    take([said("device.registered", "d0", laser("Another")), said("handpiece.registered", "h1", tip("Fine", "d0"))]);
    expect(offered()).toEqual(["Another", "One"]);
    expect(house.value.handpieces).toMatchObject([{ handpiece_id: "h1", label: "Fine", device_id: "d0", status: "current" }]);
  });

  it("does not double one that the server has sent back since", () => {
    const event = said("device.registered", "d2", laser("Two"), { outcome: "applied", position: 7 });
    take([event]);
    const back = { ...laser("Two"), device_id: "d2", status: "current", event_id: event.event_id, at: event.body.occurred_at, by: "p" };
    house.value = { ...house.value, devices: [known, back] as unknown as House["devices"], documents: { device: [known, back] } };
    expect(offered()).toEqual(["One", "Two"]);
  });

  it("offers a laser no more that was retired here, whatever was said of it first", () => {
    take([said("device.taken_out", "d1", { reason_code: "damage", reason: "r", key_held_by: null }), said("device.retired", "d1", { reason: "Sold" })]);
    expect(offered()).toEqual([]);
    take([said("device.registered", "d1", laser("One again"))]);
    expect(offered()).toEqual(["One again"]);
  });

  it("does not count what the server refused or put aside", () => {
    take([said("device.registered", "d3", laser("Three"), { outcome: "quarantined", reason: "tablet_revoked" })]);
    expect(offered()).toEqual(["One"]);
    expect(house.value.records).toEqual([]);
  });

  it("works nothing out anew for an entry about something else", () => {
    take([said("device.registered", "d0", laser("Another"))]);
    const before = house.value;
    take([said("eyewear.registered", "e1", { label: "Goggles" })]);
    expect(house.value).toBe(before);
  });
});
