import { afterEach, describe, expect, it } from "vitest";
import { ageDays, dateText, dayText, momentText, showTimesIn, timeText } from "../src/parts/dates";

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

// A bare day read as a moment is midnight at Greenwich: 16:00 of the day before in Los Angeles (-08:00).
describe("a day without a time", () => {
  const TZ = process.env["TZ"];
  afterEach(() => {
    if (TZ === undefined) delete process.env["TZ"];
    else process.env["TZ"] = TZ;
    showTimesIn(null);
  });

  for (const zone of ["America/Los_Angeles", "Pacific/Kiritimati", "UTC"]) {
    it(`is that day in a browser in ${zone}, and under its location's zone`, () => {
      process.env["TZ"] = zone;
      for (const place of [null, zone]) {
        showTimesIn(place);
        expect(dayText("2026-12-04")).toBe("Dec 4, 2026");
        expect(dateText("2026-12-04")).toBe("Dec 4, 2026");
      }
    });
  }

  it("would be the day before if it were read as a moment", () => {
    showTimesIn("America/Los_Angeles");
    expect(dateText("2026-12-04T00:00:00Z")).toBe("Dec 3, 2026");
    expect(dayText("")).toBe("");
  });
});
