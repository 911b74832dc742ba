import { afterEach, describe, expect, it } from "vitest";
import { ageDays, dateText, dayText, momentText, showTimesIn, timeText } from "../src/parts/dates";
import { localOf, momentOf } from "../src/screens/moment-text";

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

// What a person types is what the clock on the wall shows, also at a desk that stands in another zone.
// Offsets from the IANA time zone database: Chicago -06:00, from 8 March 2026, 02:00, -05:00, until 1 November, 02:00.
describe("a day and a time that are typed", () => {
  const TZ = process.env["TZ"];
  afterEach(() => {
    if (TZ === undefined) delete process.env["TZ"];
    else process.env["TZ"] = TZ;
    showTimesIn(null);
  });

  for (const zone of ["Europe/Madrid", "Pacific/Kiritimati", "America/Los_Angeles"]) {
    it.each([
      ["2026-11-25T10:15", "2026-11-25T10:15:00.000-06:00"],
      ["2026-07-25T23:40", "2026-07-25T23:40:00.000-05:00"],
      ["2026-03-08T03:30", "2026-03-08T03:30:00.000-05:00"],
      ["2026-11-01T02:30", "2026-11-01T02:30:00.000-06:00"],
    ])(`are the location's in a browser in ${zone}: %s`, (typed, said) => {
      process.env["TZ"] = zone;
      showTimesIn("America/Chicago");
      expect(momentOf(typed)).toBe(said);
      expect(localOf(said)).toBe(typed);
      expect(localOf(new Date(Date.parse(said)).toISOString())).toBe(typed);
    });
  }

  it("are the browser's own where no zone is known, and no moment where there is none", () => {
    process.env["TZ"] = "Europe/Madrid";
    showTimesIn(null);
    expect(momentOf("2026-11-25T10:15")).toBe("2026-11-25T10:15:00.000+01:00");
    expect([momentOf(""), momentOf("soon"), localOf("")]).toEqual([null, null, ""]);
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
