/** What a page of documents makes a tablet read again: the kinds that changed, and no others. */
import { beforeEach, describe, expect, it, vi } from "vitest";
import { house, loadHouse, watchHouse } from "../src/session/house";
import { documents, storePage } from "../src/store/documents";
import { freshTablet } from "./support/tablet";

vi.mock("../src/store/documents", async (original) => {
  const actual = await original<typeof import("../src/store/documents")>();
  return { ...actual, documents: vi.fn(actual.documents) };
});

const read = (): string[] => vi.mocked(documents).mock.calls.map(([kind]) => kind);
const page = (...all: [kind: string, doc_id: string, body: object | null][]) =>
  storePage("house", all.map(([kind, doc_id, body], n) => ({ kind, doc_id, position: n + 1, body })), "c", null);

beforeEach(async () => {
  await freshTablet();
});

describe("registers of a tablet", () => {
  it("are read all at first, then only where something changed", async () => {
    await page(["device", "d", { device_id: "d", label: "Laser" }], ["device_check", "c", { device_check_id: "c", device_id: "d" }]);
    await loadHouse(() => false);
    watchHouse(() => false);
    expect(house.value.deviceChecks).toHaveLength(1);
    vi.mocked(documents).mockClear();
    // Two at once, the first one's kind not the second one's: neither brings back what the other changed.
    await Promise.all([
      page(["handpiece", "h", { handpiece_id: "h", device_id: "d", label: "Tip" }]),
      page(["device_check", "c", null], ["device", "d", { device_id: "d", label: "Laser, renamed" }]),
    ]);
    await vi.waitFor(() => {
      expect(house.value.handpieces).toHaveLength(1);
      expect(house.value.devices[0]!.label).toBe("Laser, renamed");
      expect(house.value.deviceChecks).toHaveLength(0);
    });
    expect(read().sort()).toEqual(["device", "device_check", "handpiece"]);
  });
});
