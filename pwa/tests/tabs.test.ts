/**
 * Several tabs of one tablet: programs of their own over one storage and one set of locks, as a
 * browser has them. One writes; when it crashes, one of the others does, and nothing is lost.
 */

import { beforeEach, describe, expect, it, vi } from "vitest";
import type { Surroundings } from "../src/events/surroundings";
import { START_MS, freshTablet, note } from "./support/tablet";
import { CopyInMemory } from "./support/copies";
import { Locks } from "./support/locks";
import { FakeServer } from "./support/server";

type Request = LockManager["request"];
type Tab = Awaited<ReturnType<typeof openTab>>;

const TABS = 5;
const CASE = "01939a2b-0000-7000-8000-00000000cccc";
const RUNNING = { record_id: CASE, pass_id: "pass-1", started_ms: START_MS, stopped_ms: null };
let place: CopyInMemory;
let locks: Locks;
beforeEach(async () => {
  place = new CopyInMemory();
  await freshTablet({}, true, place);
  // The tab that enrolled it is closed.
  locks = new Locks();
});

/** A tab with a program of its own; `lock` stands in for the browser's locks, `page` for its document. */
async function openTab(lock: Request = locks.request, page?: EventTarget) {
  vi.resetModules();
  const [surroundings, files, second, writer, append, drain, read, live, draft, timer, database] = await Promise.all([
    import("../src/events/surroundings"), import("../src/copy/files"), import("../src/outbox/second"),
    import("../src/outbox/writer"), import("../src/outbox/append"), import("../src/outbox/drain"),
    import("../src/outbox/read"), import("../src/outbox/live"), import("../src/session/draft"),
    import("../src/session/timer"), import("../src/outbox/database"),
  ]);
  let crash = (): void => undefined;
  const crashed = new Promise<null>((resolve) => { crash = () => resolve(null); });
  // Whatever a crashed tab held is free again; what it does afterwards, nobody hears of.
  const request = ((name: string, options: LockOptions, held: (one: Lock | null) => unknown) =>
    lock(name, options, (one) => Promise.race([held(one), crashed]))) as Request;
  const around: Partial<Surroundings> = {
    now: () => START_MS, zone: () => "Europe/Berlin", offsetMinutes: () => 60, fraction: () => 0.5, locks: () => ({ request }),
  };
  surroundings.setSurroundings(around);
  files.setCopyPlace(place);
  if (page !== undefined) vi.stubGlobal("document", page);
  const role = await writer.claimWriter();
  let taken = false;
  if (role === "writer") await second.openSecond();
  else void writer.takeOver(second.openSecond).then(() => { taken = true; });
  vi.unstubAllGlobals();
  return { ...append, ...drain, ...read, ...live, ...draft, ...timer, ...database, role, crash, writes: writer.isWriter, took: () => taken };
}

async function openTabs(lock?: Request): Promise<Tab[]> {
  const tabs: Tab[] = [];
  for (let count = 0; count < TABS; count += 1) tabs.push(await openTab(lock));
  return tabs;
}

/** What each of the tabs answers to a save: its number, or the code of the refusal. */
const savedBy = (tabs: readonly Tab[], text: string) => Promise.all(tabs.map((tab) =>
  tab.append([note(text)], null).then(([saved]) => saved!.tablet_seq, (problem: { code: string }) => problem.code)));

/** What five tabs that send at once leave, where the server says this of the first of 61 entries. */
async function leftBehind(outcome: string) {
  locks = new Locks();
  const tabs = await openTabs();
  const carrier = new FakeServer().carrier();
  const poisoned: typeof carrier = {
    ...carrier,
    push: async (items) => {
      const answer = await carrier.push(items);
      const results = (answer.results as { tablet_seq: number; outcome: string }[]).map((one) => one.tablet_seq === 1 ? { ...one, outcome } : one);
      return { ...answer, results };
    },
  };
  await (await theWriter(tabs)).append(Array.from({ length: 61 }, (_, n) => note(`n${n}`)), null);
  const ends = await Promise.all(tabs.map((tab) => tab.drain(poisoned)));
  const [first] = await tabs[0]!.readEvents();
  const left = { waiting: await tabs[0]!.countWaiting(), first: (first!.result as { outcome: string } | null)?.outcome, ends: ends.sort() };
  await Promise.all(tabs.map((tab) => tab.closeOutbox()));
  await freshTablet({}, true, place = new CopyInMemory());
  return left;
}

/** The one tab that writes, once there is one. */
async function theWriter(tabs: readonly Tab[]): Promise<Tab> {
  const writers = await vi.waitUntil(() => { const some = tabs.filter((tab) => tab.writes()); return some.length > 0 && some; });
  expect(writers).toHaveLength(1);
  return writers[0]!;
}

describe("five tabs of one tablet", () => {
  it("save by one, and send by one at a time, everything once", async () => {
    const tabs = await openTabs();
    expect(tabs.map((tab) => tab.role)).toEqual(["writer", "reader", "reader", "reader", "reader"]);
    expect(await savedBy(tabs, "a")).toEqual([1, ...Array<string>(4).fill("read_only_tab")]);
    await tabs[0]!.append(Array.from({ length: 70 }, (_, n) => note(`n${n}`)), null);
    const server = new FakeServer();
    const ends = await Promise.all(tabs.map((tab) => tab.drain(server.carrier())));
    expect(ends.filter((end) => end === "empty")).toHaveLength(1);
    expect(server.batches).toEqual([50, 21]);
    expect(server.held.map((item) => item.tablet_seq)).toEqual(Array.from({ length: 71 }, (_, n) => n + 1));
  });

  it("send past an entry at the head that the server puts aside, and keep it", async () => {
    expect(await leftBehind("quarantined")).toEqual({ waiting: 0, first: "quarantined", ends: ["busy", "busy", "busy", "busy", "empty"] });
    // The known-bad server tells of it as if it could be taken another time: nothing behind it ever goes.
    expect(await leftBehind("retry")).toMatchObject({ waiting: 61, first: undefined });
  });

  it("go on one after the other as each writing one crashes, with all that was shown as saved", async () => {
    const tabs = await openTabs();
    const shown: string[] = [];
    const server = new FakeServer();
    for (let left = [...tabs]; left.length > 0;) {
      const writer = await theWriter(left);
      for (const text of ["one", "two"]) shown.push((await writer.append([note(text)], null))[0]!.event_id);
      // One that only reads sends for it, and its answer may come when the other is gone.
      const sending = left.at(-1)!.drain(server.carrier());
      writer.crash();
      await sending;
      left = left.filter((tab) => tab !== writer);
      expect((await tabs.at(-1)!.readEvents()).map(({ event_id }) => event_id)).toEqual(shown);
    }
    await (await openTab()).drain(server.carrier());
    expect(server.held.map((item) => item.event_id)).toEqual(shown);
    expect(server.held.map((item) => item.tablet_seq)).toEqual(shown.map((_, at) => at + 1));
  });

  it("takes up what a crash left in the second copy only, before anything is written", async () => {
    const [first, second] = [await openTab(), await openTab()];
    await first.append([note("a"), note("b")], null);
    // Killed between the two: the copy holds the last entry, the outbox does not.
    const transaction = await first.strictly(["events", "writer"]);
    void transaction.objectStore("events").delete(2);
    void transaction.objectStore("writer").put({ next: 2 }, "seq");
    await transaction.done;
    first.crash();
    await vi.waitUntil(second.writes);
    expect((await second.append([note("c")], null))[0]!.tablet_seq).toBe(3);
    expect((await second.readEvents()).map((event) => event.payload["text"])).toEqual(["a", "b", "c"]);
  });

  it("leaves the pen to a tab that is looked at", async () => {
    const page = Object.assign(new EventTarget(), { visibilityState: "visible" });
    const first = await openTab();
    const hidden = await openTab(locks.request, page);
    const seen = await openTab();
    page.visibilityState = "hidden";
    page.dispatchEvent(new Event("visibilitychange"));
    first.crash();
    await vi.waitUntil(seen.writes);
    expect(hidden.writes()).toBe(false);
    page.visibilityState = "visible";
    page.dispatchEvent(new Event("visibilitychange"));
    seen.crash();
    await vi.waitUntil(hidden.writes);
    expect(hidden.took()).toBe(true);
  });

  it("is caught where every tab is given every lock", async () => {
    const everybody = ((name: string, _: LockOptions, held: (one: Lock) => unknown) =>
      Promise.resolve(held({ name, mode: "exclusive" }))) as unknown as Request;
    const tabs = await openTabs(everybody);
    await expect(theWriter(tabs)).rejects.toThrow();
    // Even then the sequence in the transaction lets no number be given twice.
    const told = await savedBy(tabs, "a");
    const numbers = told.filter((one) => typeof one === "number");
    expect(new Set(numbers).size).toBe(numbers.length);
    expect(new Set(told.filter((one) => typeof one === "string"))).toEqual(new Set(["seq_moved"]));
  });
});

describe("what is no entry yet", () => {
  const ready = (form: { ready: { value: boolean } }) => vi.waitUntil(() => form.ready.value);

  it("comes from the tab that kept it; what was typed into the other stays where nothing was kept", async () => {
    const [first, second] = [await openTab(), await openTab()];
    const late = second.draft("late", ""), both = second.draft("both", ""), mine = second.draft("mine", ""), done = second.draft("done", "");
    await Promise.all([late, both, mine, done].map(ready));
    done.value.value = "as it was kept at first";
    both.set("typed where it is not kept");
    mine.set("nothing else");
    for (const key of ["late", "both"]) await first.putLive(key, "kept");
    first.crash();
    await vi.waitUntil(second.writes);
    await second.takeUpDrafts();
    expect([late, both, mine, done].map(({ value }) => value.value)).toEqual(["kept", "kept", "nothing else", ""]);
    await vi.waitUntil(async () => (await second.getLive("mine")) === "nothing else");
  });

  it("leaves a running time to the tab that runs it, and calls it unwatched once that is gone", async () => {
    const first = await openTab();
    first.startTimer(CASE, "pass-1", START_MS);
    await vi.waitUntil(() => first.kept.value === "yes");
    const second = await openTab();
    await second.loadTimer();
    expect(second.running.value).toBeNull();
    expect(await first.getLive("timer")).toMatchObject({ ...RUNNING, unseen: false });
    first.crash();
    await vi.waitUntil(second.writes);
    await second.loadTimer();
    expect(second.running.value).toMatchObject(RUNNING);
    expect(second.cameBack.value).toBe(true);
  });
});
