import { describe, expect, it } from "vitest";
import { DESK, find, TABLET, type Route } from "../src/screens/routes";

const route = (path: string): Route => ({ path, under: null, screen: Object.assign(() => null, { load: () => Promise.resolve() }) });
const MADE_UP = ["first", "case/new", "case/:record_id", "sign/:record_id", "plan/:record_id?"].map(route);
const path = (...parts: string[]) => find(MADE_UP, parts).route.path;

describe("addresses of screens", () => {
  it("takes the exact address before one with a name in it", () => {
    expect(path("case", "new")).toBe("case/new");
    expect(path("case", "0190")).toBe("case/:record_id");
  });
  it("hands over what stands in the address", () => {
    expect(find(MADE_UP, ["sign", "0190"]).named).toEqual({ record_id: "0190" });
  });
  it("knows what may be missing from what may not", () => {
    expect(find(MADE_UP, ["plan"])).toMatchObject({ route: { path: "plan/:record_id?" }, named: { record_id: null } });
    expect(path("sign")).toBe("first");
  });
  it("leads from an unknown address to the first screen, never to nothing", () => {
    expect(path("nowhere")).toBe("first");
    expect(path()).toBe("first");
    expect(path("sign", "0190", "more")).toBe("first");
  });
  it("has no address twice, and none that an earlier one hides", () => {
    for (const routes of [TABLET, DESK]) {
      for (const { path } of routes) {
        const parts = path.split("/").filter((step) => !step.endsWith("?")).map((step) => step.replace(/^:/, ""));
        expect(find(routes, parts).route.path).toBe(path);
      }
    }
  });
});
