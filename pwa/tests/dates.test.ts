import { afterEach, describe, expect, it } from "vitest";
import { ageDays, momentText, showTimesIn, timeText } from "../src/parts/dates";

// Offsets from the IANA time zone database: Chicago -06:00 in winter, -05:00 in summer.
describe("times as the clock on the location's wall shows them", () => {
  afterEach(() => showTimesIn(null));

  it("shows a moment in the location's zone, whatever the browser's", () => {
    showTimesIn("America/Chicago");
    expect(timeText("2026-11-25T02:30:00.000+00:00")).toBe("20:30");
    expect(timeText("2026-07-25T02:30:00.000+00:00")).toBe("21:30");
    expect(momentText("2026-11-25T02:30:00.000+00:00")).toContain("Nov 24, 2026");
  });

  it("counts days by that calendar", () => {
    showTimesIn("America/Chicago");
    const check = "2026-11-25T05:59:00.000+00:00"; // 23:59 on the 24th in Chicago
    expect(ageDays(check, Date.parse("2026-11-25T06:01:00.000Z"))).toBe(1);
    showTimesIn("Europe/Berlin");
    expect(ageDays(check, Date.parse("2026-11-25T06:01:00.000Z"))).toBe(0);
  });

  it("goes on with the browser's zone where the name is unknown", () => {
    showTimesIn("Nowhere/At-All");
    expect(timeText("2026-11-25T02:30:00.000+00:00")).toMatch(/^\d\d:\d\d$/);
  });
});
