/** Whose token a 401 speaks of: only that person is signed out by it. */
import { beforeEach, expect, it } from "vitest";
import { setSurroundings, surroundings } from "../src/events/surroundings";
import { enrol } from "../src/sync/enrol";
import { personToken, signInWithPin, signOutPerson } from "../src/sync/people";
import { syncNow } from "../src/sync/service";
import { forgetToken } from "../src/sync/token";
import { ALICE, json, MemoryServer } from "./support/memory-server";
import { freshTablet } from "./support/tablet";

let server: MemoryServer;
/** What the server answers to a pull of records, once. */
let records: (() => Promise<Response> | Response) | null;

beforeEach(async () => {
  signOutPerson();
  forgetToken();
  server = new MemoryServer();
  records = null;
  const { server: keys } = await freshTablet({}, false);
  server.keys = keys;
  setSurroundings({
    ...surroundings(),
    fetch: async (path, init) => {
      const answer = records;
      if (answer === null || !path.includes("feed=records")) return server.fetch(path, init);
      records = null;
      return answer();
    },
  });
  await enrol("ABCDE-FGHJK", "one");
  await signInWithPin(ALICE, "123456");
  await syncNow();
});

it("signs out the person whose token ran out", async () => {
  // Twice: the first might have been the tablet's own token.
  const refuse = () => { records = () => json({ code: "not_signed_in" }, 401); return json({ code: "not_signed_in" }, 401); };
  records = refuse;
  await syncNow();
  expect(personToken()).toBeNull();
});

it("leaves whoever has signed in meanwhile", async () => {
  let answer!: (response: Response) => void;
  const asked = new Promise<void>((resolve) => {
    records = () => { resolve(); return new Promise<Response>((hand) => { answer = hand; }); };
  });
  const syncing = syncNow();
  await asked;
  signOutPerson();
  server.person_token = "token of the next one";
  await signInWithPin(ALICE, "123456");
  records = () => json({ code: "person_needed" }, 401);
  answer(json({ code: "person_needed" }, 401));
  await syncing;
  expect(personToken()).toBe("token of the next one");
});

it("does not take what is said of the tablet for the person's", async () => {
  records = () => {
    // The tablet's own token is gone as well, and it cannot get another one.
    const before = server.fetch;
    server.fetch = async (path, init) => (path.includes("tablet/token")
      ? json({ code: "tablet_unproven", detail: "no" }, 401) : before(path, init));
    return json({ code: "not_signed_in" }, 401);
  };
  await syncNow();
  expect(personToken()).toBe("person-token");
});
