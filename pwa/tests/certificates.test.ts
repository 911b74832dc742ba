/** Certificates: what a file is, how it may be called, where its bytes wait, in which order file and entry go. */

import { beforeEach, describe, expect, it, vi } from "vitest";
import { setPicturePlace } from "../src/copy/pictures";
import { hex, sha256 } from "../src/events/bytes";
import type { EventDraft } from "../src/events/build";
import { setSurroundings, surroundings, type Bytes } from "../src/events/surroundings";
import { append } from "../src/outbox/append";
import { closePhotographs, nameUnnamed, photographBytes, photographStates } from "../src/outbox/photographs";
import { settle } from "../src/outbox/settle";
import { atHand, letGo, openPaper, PaperError, refreshCertificates, sendAfter, sendBefore, takeIn, there, whereIs } from "../src/session/certificates";
import { cleanName, endsAs, LIMIT_BYTES, typeOf } from "../src/session/paper";
import { person, seat } from "../src/session/state";
import { forgetTakenIn, sendPhotographs, takeInLost } from "../src/sync/photographs";
import { forgetToken } from "../src/sync/token";
import { freshTablet, PERSON_ID, type Tablet } from "./support/tablet";

vi.mock("../src/session/picture", async (original) => ({
  ...(await original<object>()),
  // No canvas here; what a browser draws is shown in tests/story/test_photographs.py.
  drawAnew: () => Promise.resolve({ bytes: Uint8Array.of(0xff, 0xd8, 1, 0xff, 0xd9), width_px: 1, height_px: 1 }),
}));

const WORK = "01939a2b-0000-7000-8000-00000000dddd";
const bytesOf = (text: string): Bytes => Uint8Array.from(text, (letter) => letter.charCodeAt(0)) as Bytes;
const PDF = "%PDF-1.7\n1 0 obj\nendobj\nstartxref\n9\n%%EOF\n";
// A picture of one point, by the PNG specification (W3C), 5.
const PNG = "\x89PNG\r\n\x1a\n....IDAT....\x00\x00\x00\x00IEND\xae\x42\x60\x82";
const JPEG = "\xff\xd8 a camera was here \xff\xd9";
const file = (content: string | Bytes, name: string): File => new File([typeof content === "string" ? bytesOf(content) : content], name);
const hashOf = async (content: string): Promise<string> => hex(await sha256(bytesOf(content)));

describe("what a file is", () => {
  it.each([
    [PDF, "application/pdf"], [PNG, "image/png"], [JPEG, "image/jpeg"], ["", null], ["%PDF", null],
    ["<!doctype html>", null], ["\n%PDF-1.7", null], ["PK\x03\x04", null],
  ])("is said by its first bytes: %j", (content, type) => {
    expect(typeOf(bytesOf(content))).toBe(type);
  });

  it.each([[PDF, true], [PDF.slice(0, -3), false], [`${PDF}<script>`, false], [PNG, true], [PNG.slice(0, -1), false], [JPEG, true], [`${JPEG} `, false]])(
    "is seen to be whole by its last: %j", (content, whole) => {
      expect(endsAs(typeOf(bytesOf(content))!, bytesOf(content))).toBe(whole);
    });
});

describe("how a file is called", () => {
  it.each([
    ["Service 2026.pdf", "Service 2026.pdf"], ["SERVICE.PDF", "SERVICE.PDF"], ["校正.pdf", "校正.pdf"],
    ["../../etc/passwd", "passwd.pdf"], ["C:\\Users\\x\\report.pdf", "report.pdf"], ["a\u0000b.pdf", "ab.pdf"], ["a\n\tb.pdf", "ab.pdf"],
    // What turns the direction of writing would show another ending than there is.
    ["a\u202efdp.exe", "afdp.pdf"], ["page.html", "page.pdf"], ["page.pdf.exe", "page.pdf.pdf"],
    [".pdf", "certificate.pdf"], ["..", "certificate.pdf"], ["", "certificate.pdf"], ["   ", "certificate.pdf"], ["\ud800.pdf", "certificate.pdf"],
  ])("%j becomes %j", (name, clean) => {
    expect(cleanName(name, "application/pdf")).toBe(clean);
  });

  it("is at most 120 long, and no sign is cut in two", () => {
    const clean = cleanName(`${"🦷".repeat(100)}.jpeg`, "image/jpeg");
    expect(clean).toBe(`${"🦷".repeat(57)}.jpeg`);
    expect(clean.length).toBeLessThanOrEqual(120);
  });
});

class Server {
  readonly asked: string[] = [];
  readonly held = new Map<string, Bytes>();
  refuse: { status: number; code: string } | null = null;
  reachable = true;
  fetch = async (path: string, init: RequestInit): Promise<Response> => {
    if (!this.reachable) throw new TypeError("no network");
    const name = path.replace("/api/v1/", "");
    if (name === "tablet/challenge") return json({ nonce: "n" });
    if (name === "tablet/token") return json({ token: "t" });
    if (name === "certificates") return json({ certificates: [...this.held.keys()].map((sha256) => ({ sha256, named: true })) });
    this.asked.push(`${init.method} ${name} ${new Headers(init.headers).get("Content-Type") ?? ""}`.trim());
    const hash = name.replace("certificates/", "");
    if (init.method === "PUT") {
      if (this.refuse) return json({ code: this.refuse.code }, this.refuse.status);
      this.held.set(hash, new Uint8Array(init.body as ArrayBuffer) as Bytes);
      return json({ sha256: hash });
    }
    const found = this.held.get(hash);
    return found ? new Response(found) : json({ code: "certificate_unknown" }, 404);
  };
}

function json(body: object, status = 200): Response {
  return new Response(JSON.stringify(body), { status, headers: { "Content-Type": "application/json" } });
}

let tablet: Tablet;
let server: Server;

beforeEach(async () => {
  person.value = null;
  forgetToken();
  forgetTakenIn();
  // Without a second copy: what that does is shown with photographs.
  setPicturePlace({ put: () => Promise.reject(new Error("none")), list: () => Promise.resolve([]), read: () => Promise.resolve(null), remove: () => Promise.resolve() });
  tablet = await freshTablet();
  server = new Server();
  setSurroundings({ ...surroundings(), fetch: server.fetch });
  person.value = { person_id: PERSON_ID } as never;
  seat.value = "tablet";
  there.value = null;
});

const refusal = (asked: Promise<unknown>): Promise<string> => asked.then(() => "taken", (problem: unknown) => (problem instanceof PaperError ? problem.code : String(problem)));

describe("a chosen file", () => {
  it.each(["tablet", "desk"] as const)("is refused before anything is sent, at a %s", async (where) => {
    seat.value = where;
    const large = new Uint8Array(LIMIT_BYTES + 1) as Bytes;
    large.set(bytesOf("%PDF-1.7\n"));
    expect(await refusal(takeIn(WORK, file("", "a.pdf")))).toBe("certificate_empty");
    expect(await refusal(takeIn(WORK, file("<!doctype html>", "a.pdf")))).toBe("certificate_unknown_kind");
    expect(await refusal(takeIn(WORK, file(large, "a.pdf")))).toBe("certificate_too_large");
    expect(await refusal(takeIn(WORK, file(PDF.slice(0, -5), "a.pdf")))).toBe("certificate_damaged");
    expect(await refusal(takeIn(WORK, file(JPEG.slice(0, -1), "a.jpg")))).toBe("certificate_damaged");
    expect(server.asked).toEqual([]);
    expect(await photographStates()).toEqual([]);
  });

  it("is called by its kind, and a photograph is drawn anew", async () => {
    expect(await takeIn(WORK, file(PDF, "../a.exe"))).toEqual({ sha256: await hashOf(PDF), file_name: "a.pdf", media_type: "application/pdf", size_bytes: PDF.length });
    expect(await takeIn(WORK, file(JPEG, "b.JPG"))).toMatchObject({ sha256: await hashOf("\xff\xd8\x01\xff\xd9"), file_name: "b.JPG", size_bytes: 5 });
  });
});

const entry = (papers: object[]): EventDraft => ({
  type: "maintenance.recorded", entity_id: WORK,
  payload: {
    device_id: "d", kind: "service", done_on: "2026-11-24", done_by: "A firm", what: "Aligned", parts: null, power_before: null, power_after: null,
    certificates: papers as never, released_by: null, restarts_trend: true, next_due_on: null,
  },
});

describe("on a tablet", () => {
  it("waits sealed, and follows its entry to the certificates, once", async () => {
    const one = await takeIn(WORK, file(PDF, "a.pdf"));
    expect(atHand(one, [])).toBe(true);
    expect(whereIs(one.sha256)).toBe("tablet");
    const [event] = await append([entry([one])], null);
    await sendAfter();
    expect((await photographStates())[0]).toMatchObject({ certificate: true, tablet_seq: event!.tablet_seq });
    tablet.clock.ms += 20_000;
    await sendPhotographs();
    // Not before its entry.
    expect(server.asked).toEqual([]);
    await settle([{ event_id: event!.event_id, tablet_seq: event!.tablet_seq, outcome: "applied", position: 1 }], null);
    await sendPhotographs();
    await sendPhotographs();
    expect(server.asked).toEqual([`PUT certificates/${one.sha256} application/octet-stream`]);
    await vi.waitFor(() => expect(whereIs(one.sha256)).toBe("server"));
  });

  it("is found again by its entry where the page ended between the two", async () => {
    const one = await takeIn(WORK, file(PDF, "a.pdf"));
    await append([entry([one])], null);
    await closePhotographs();
    forgetTakenIn();
    await takeInLost();
    await nameUnnamed();
    expect((await photographStates())[0]?.tablet_seq).not.toBeNull();
  });

  it("is let go of where no entry names it, and only then", async () => {
    const one = await takeIn(WORK, file(PDF, "a.pdf"));
    await letGo(one.sha256);
    expect(await photographBytes(one.sha256)).toBeNull();
    const again = await takeIn(WORK, file(PDF, "a.pdf"));
    await append([entry([again])], null);
    await nameUnnamed();
    await letGo(again.sha256);
    expect(await photographBytes(again.sha256)).not.toBeNull();
  });
});

describe("at a desk", () => {
  beforeEach(() => { seat.value = "desk"; });

  it("goes before its entry, one after another, and once", async () => {
    const papers = [await takeIn(WORK, file(PDF, "a.pdf")), await takeIn(WORK, file(PNG, "b.png"))];
    const began: number[] = [];
    await sendBefore(papers, (number) => began.push(number));
    await sendBefore(papers, (number) => began.push(number));
    expect(began).toEqual([1, 2]);
    expect(server.asked).toEqual(papers.map(({ sha256: name }) => `PUT certificates/${name} application/octet-stream`));
    expect(papers.every((one) => atHand(one, []))).toBe(true);
    expect(await photographStates()).toEqual([]);
  });

  it("stays at hand where the server does not take it", async () => {
    const one = await takeIn(WORK, file(PDF, "a.pdf"));
    server.refuse = { status: 409, code: "certificates_unused" };
    await expect(sendBefore([one], () => undefined)).rejects.toMatchObject({ code: "certificates_unused" });
    expect(atHand(one, [])).toBe(true);
    server.refuse = null;
    await sendBefore([one], () => undefined);
    expect(server.held.size).toBe(1);
  });

  it("is gone with whoever signs out, and said to be", async () => {
    const one = await takeIn(WORK, file(PDF, "a.pdf"));
    person.value = null;
    expect(atHand(one, [])).toBe(false);
    expect(atHand(one, [one])).toBe(true);
  });
});

describe("an attached file", () => {
  it("is still to come until its bytes are there; without a connection it cannot be told", async () => {
    seat.value = "desk";
    const hash = await hashOf(PDF);
    const one = { sha256: hash, file_name: "a.html", media_type: "application/pdf", size_bytes: PDF.length };
    server.reachable = false;
    await refreshCertificates();
    expect(whereIs(hash)).toBeNull();
    await expect(openPaper(one)).rejects.toMatchObject({ code: "no_answer" });
    server.reachable = true;
    await refreshCertificates();
    expect(whereIs(hash)).toBe("to_come");
    expect(await openPaper(one)).toBeNull();
    server.held.set(hash, bytesOf(PDF));
    await refreshCertificates();
    expect(whereIs(hash)).toBe("server");
    const opened = (await openPaper(one))!;
    expect([opened.type, opened.file_name, opened.blob.type]).toEqual(["application/pdf", "a.pdf", "application/pdf"]);
    // Other bytes than those that the entry names are not opened, whoever sent them.
    server.held.set(hash, bytesOf(`${PDF}\n`));
    await expect(openPaper(one)).rejects.toThrow("not the file");
  });
});
