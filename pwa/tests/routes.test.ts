import { describe, expect, it } from "vitest";
import { DESK, find, TABLET } from "../src/screens/routes";

const path = (...parts: string[]) => find(TABLET, parts).route.path;

describe("addresses of screens", () => {
  it("takes the exact address before one with a name in it", () => {
    expect(path("case", "new")).toBe("case/new");
    expect(path("case", "0190")).toBe("case/:record_id");
  });
  it("hands over what stands in the address", () => {
    expect(find(TABLET, ["records", "0190"]).named).toEqual({ record_id: "0190" });
  });
  it("knows what may be missing from what may not", () => {
    expect(find(TABLET, ["plan"])).toMatchObject({ named: { record_id: null } });
    expect(path("sign")).toBe("today");
  });
  it("leads from an unknown address to the first screen, never to nothing", () => {
    expect(path("nowhere")).toBe("today");
    expect(path()).toBe("today");
    expect(path("records", "0190", "more")).toBe("today");
    expect(find(DESK, ["nowhere"]).route.path).toBe("queue");
  });
});
