import { expect, test } from "vitest";
import { zonesLike, zoneText } from "../src/session/zones";

// Names of the IANA time zone database.
const ALL = ["America/Argentina/Buenos_Aires", "America/Mexico_City", "America/New_York", "Atlantic/Azores", "Europe/Lisbon", "Europe/London", "Indian/Mauritius", "UTC"];

test("a zone is found by the beginning of any of its words, whatever capitals, accents and strokes", () => {
  expect(zonesLike(ALL, "lis", 6)).toEqual(["Europe/Lisbon"]);
  expect(zonesLike(ALL, "MÉXICO city", 6)).toEqual(["America/Mexico_City"]);
  expect(zonesLike(ALL, "new_york", 6)).toEqual(["America/New_York"]);
  expect(zonesLike(ALL, "europe/lon", 6)).toEqual(["Europe/London"]);
  expect(zonesLike(ALL, "aires", 6)).toEqual(["America/Argentina/Buenos_Aires"]);
});

test("what a city begins with comes before what a continent does, and no more than asked for", () => {
  expect(zonesLike([...ALL, "America/Indiana/Marengo"], "ind", 6)).toEqual(["America/Indiana/Marengo", "Indian/Mauritius"]);
  expect(zonesLike(ALL, "a", 2)).toHaveLength(2);
  expect(zonesLike(ALL, "azor", 6)[0]).toBe("Atlantic/Azores");
});

test("nothing is offered for nothing, nor for what is no zone", () => {
  expect(zonesLike(ALL, " ", 6)).toEqual([]);
  expect(zonesLike(ALL, "atlantis", 6)).toEqual([]);
});

test("a name is read without its low lines", () => {
  expect(zoneText("America/New_York")).toBe("America/New York");
});
