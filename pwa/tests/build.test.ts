import { describe, expect, it } from "vitest";
import { base64url, fromBase64url, fromHex, hex, sha256, utf8 } from "../src/events/bytes";
import { buildEvent, type BuildContext } from "../src/events/build";
import { uuid7 } from "../src/events/ids";
import { setSurroundings } from "../src/events/surroundings";
import { parseTime, rfc3339 } from "../src/events/times";

const context: BuildContext = {
  tablet_id: "t", location_id: "l", actor_id: null, clock_offset_ms: null,
  sign: () => Promise.resolve(new Uint8Array(64)),
};

describe("ids", () => {
  it("reproduces the example of RFC 9562, appendix A.6", () => {
    // unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F
    const random = fromHex("0cc318c4dc0c0c07398f");
    expect(uuid7(0x017f22e279b0, random)).toBe("017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
  });
});

describe("times", () => {
  it("writes milliseconds and offset, never Z", () => {
    const moment = Date.UTC(2026, 10, 25, 9, 15, 30, 123);
    expect(rfc3339(moment, 60)).toBe("2026-11-25T10:15:30.123+01:00");
    expect(rfc3339(moment, 0)).toBe("2026-11-25T09:15:30.123+00:00");
    expect(rfc3339(moment, -210)).toBe("2026-11-25T05:45:30.123-03:30");
  });

  it("reads only what states its offset", () => {
    expect(parseTime("2026-11-25T10:15:30.123+01:00")).toBe(Date.UTC(2026, 10, 25, 9, 15, 30, 123));
    expect(() => parseTime("2026-11-25T10:15:30.123")).toThrow(TypeError);
  });
});

describe("bytes", () => {
  it("hashes the example of FIPS 180-4 for abc", async () => {
    expect(hex(await sha256(utf8("abc")))).toBe("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  });

  it("writes base64url without padding (RFC 4648, 14 fb 9c 03 d9 7e is FPucA9l-)", () => {
    expect(base64url(fromHex("14fb9c03d97e"))).toBe("FPucA9l-");
    expect(hex(fromBase64url("FPucA9k"))).toBe("14fb9c03d9");
  });
});

describe("an event", () => {
  it("has exactly the keys of the catalogue's body, in one line", async () => {
    setSurroundings({ now: () => 0, zone: () => "UTC", offsetMinutes: () => 0 });
    const { item, body } = await buildEvent(
      { type: "procedure.noted", entity_id: "r", payload: { text: "a\nb" } }, 3, context);
    expect(Object.keys(body)).toEqual([
      "v", "event_id", "tablet_id", "tablet_seq", "location_id", "actor_id", "type", "entity_id", "base_version",
      "corrects", "occurred_at", "zone", "clock_offset_ms", "app_build", "engine_version", "payload_hash",
    ]);
    expect(JSON.parse(item.body)).toEqual(body);
    expect(item.body + item.payload).not.toContain("\n");
    expect(item.tablet_seq).toBe(3);
  });

  it("hashes salt and payload (value from Python: hashlib.sha256(bytes(16)+b'{\"text\":\"caf\\u00e9\"}'))", async () => {
    setSurroundings({ now: () => 0, zone: () => "UTC", offsetMinutes: () => 0, random: (count) => new Uint8Array(count) });
    const { body } = await buildEvent(
      { type: "procedure.noted", entity_id: "r", payload: { text: "caf\u00e9" } }, 1, context);
    expect(body.payload_hash).toBe("67ff8755c42c4e1de6340ac65879683c097ef0ff1c4af1aea8d1244cdbefb72f");
  });

  it("refuses a fraction, which two languages would print differently", async () => {
    setSurroundings({ zone: () => "UTC" });
    for (const bad of [0.1, Number.NaN, Infinity, 2 ** 53]) {
      await expect(buildEvent({ type: "x", entity_id: "r", payload: { a: [bad] } }, 1, context)).rejects.toThrow(TypeError);
    }
  });
});
