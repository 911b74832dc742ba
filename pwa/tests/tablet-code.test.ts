import { describe, expect, it } from "vitest";
import { enrolledSince, type EnrolmentCode, type ListedTablet } from "../src/sync/tablets";

const code: EnrolmentCode = {
  code: "2345-6789", address: "https://practice.example/#/enrol/2345-6789", qr: { modules: 21, path: "" },
  server_time: "2026-11-02T09:00:00.500Z", left_ms: 600_000,
};

const tablet = (label: string, enrolled_at: string): ListedTablet => ({
  tablet_id: label, label, enrolled_at, enrolled_by: null, last_seen_at: null, waiting: null, quarantined: 0,
  revoked_at: null, revoked_by: null, revoked_because: null, forked_at: null, unconfirmed: false, replaces: null,
});

describe("the tablet that came with a code", () => {
  it("is none where the list, which may come after the code, holds earlier tablets only", () => {
    expect(enrolledSince(code, [])).toBeUndefined();
    expect(enrolledSince(code, [tablet("Room 1", "2026-10-19T08:00:00.000Z"), tablet("Room 2", "2026-11-02T09:00:00.499Z")])).toBeUndefined();
  });

  it("is the one enrolled after the code was made, in whatever order they are listed", () => {
    const fresh = tablet("Room 7", "2026-11-02T09:01:00.000Z");
    expect(enrolledSince(code, [tablet("Room 1", "2026-10-19T08:00:00.000Z"), fresh])).toBe(fresh);
  });
});
