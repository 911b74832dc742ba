/** The history in sentences; the expected ones were written by hand from the vectors' events. */

import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { fold } from "../src/session/fold";
import { historyOf, type HistoryWords, type Told } from "../src/session/history";
import type { RecordDocument } from "../src/session/record";
import { changesOf, saidOf } from "../src/session/said";
import { historyWords as english } from "../src/text/en/history";
import { historyWords as spanish } from "../src/text/es/history";

interface Short { id: string; tablet: string; seq: number; by: string; type: string; corrects?: string; at: string; payload: Record<string, unknown> | null }
const vectors = JSON.parse(readFileSync(new URL("../../tests/vectors/fold.json", import.meta.url), "utf8")) as
  { defaults: object; events: Record<string, Short>; cases: { of: string[] }[] };

function folded(...names: string[]): RecordDocument {
  return fold(names.map((name) => {
    const { id, tablet, seq, by, type, corrects = null, at, payload } = vectors.events[name]!;
    return { body: { ...vectors.defaults, event_id: id, tablet_id: tablet, tablet_seq: seq, actor_id: by, type, corrects, occurred_at: at }, payload, body_hash: "00".repeat(32) } as never;
  }));
}

const NAMES: Record<string, string> = { dent: "Ana Ruiz", assi: "Bo Lind", front: "Cy Park" };
const look = {
  person: (id: string) => NAMES[id] ?? null,
  settings: (settings: unknown) => (settings as { emission: { power?: string } }).emission.power ?? "without a power",
  moment: (at: string) => at.slice(0, 10),
  quantity: (text: string) => text,
};
const tell = (record: Pick<RecordDocument, "history">, words: unknown = english): Told[] => historyOf(record, words as HistoryWords, look);
const texts = (...names: string[]): string[] => tell(folded(...names)).map((one) => one.text);

describe("a history in sentences", () => {
  it("tells a whole procedure", () => {
    expect(texts("open", "timeout", "pass4", "on4", "note", "end", "sign", "placed", "addendum")).toEqual([
      "Ana Ruiz opened the case: Frenectomy, upper lip.",
      "Ana Ruiz answered the time-out “Time-out”.",
      "Bo Lind started pass 1: 4.0 W.",
      "Bo Lind noted 12.4 s of laser-on time for pass 1 (timer).",
      "Bo Lind wrote a note: “Little bleeding.”",
      "Ana Ruiz ended the procedure.",
      "Ana Ruiz signed the record as clinician.",
      "Cy Park put the record into the chart (as PDF).",
      "Ana Ruiz added an addendum. Reason: later event",
    ]);
  });

  it("says of a correction what it was and what it is, and that the first entry is kept", () => {
    const record = folded("open", "pass4", "pass4-as-6");
    const [, first, correction] = tell(record);
    expect(first).toMatchObject({ text: "Bo Lind started pass 1: 4.0 W.", standing: "replaced" });
    expect(correction?.standing).toBe("holds");
    expect(correction?.text).toBe(
      "Ana Ruiz corrected pass 1: changed from the preset from no to yes; preset taken out, it was Frenum; "
      + "version of the preset taken out, it was 2; date of the power check taken out, it was 2026-11-24; "
      + "ratio of the power check taken out, it was 0.93; uncertainty of the power check taken out, it was 0.02; "
      + "power from 4.0 W to 6 W. The first entry is kept.");
  });

  it("names the tip of a pass where it is another one than before", () => {
    // pass45 is with the tip of the opening, the two after it with one other, pass-resumes with the first again.
    expect(texts("open", "pass45", "two-tips", "tip-unchecked", "pass-resumes").slice(1)).toEqual([
      "Bo Lind started pass 2: 4.5 W.",
      "Bo Lind started pass 3 with “0.4 mm tip”: 4 W.",
      "Bo Lind started pass 4: 4 W.",
      "Bo Lind started pass 6 with “0.25 mm tip”: 4 W.",
    ]);
  });

  it("says what was taken back, and why", () => {
    const told = tell(folded("open", "pass45", "on45", "on45b", "take-back-on45b"));
    expect(told[3]).toMatchObject({ text: "Bo Lind noted 2 s of laser-on time for pass 2 (estimate).", standing: "taken back" });
    expect(told[4]?.text).toBe("Bo Lind took back the laser-on time of pass 2 (2 s). Reason: pressed twice");
  });

  it("tells a move without the old number, and a voiding", () => {
    const told = texts("open", "end", "sign", "move-late", "void");
    expect(told).toContain("Ana Ruiz moved the record to the chart 4713 C. D.; reason: wrong card");
    expect(told).toContain("Ana Ruiz declared the record void. Reason: opened by mistake");
    expect(told.join(" ")).not.toContain("4711");
  });

  it("goes by time between writers, and never turns one writer's own entries around", () => {
    const record = folded("open", "pass4", "end", "sign", "addendum", "placed");
    // The tablet's clock was put back before the end; the desk's placing at 11:00 stays where it was.
    record.history.find((line) => line.type === "procedure.ended")!.at = "2026-11-25T09:00:00.000+01:00";
    expect(tell(record).map((one) => one.event_id)).toEqual(["e01", "e03", "e09", "e10", "e12", "e11"]);
  });

  it("says what has no effect, and what was erased", () => {
    expect(tell(folded("open", "pass4", "end", "sign", "late-note")).at(-1)?.standing).toBe("without effect");
    expect(texts("open", "erased").at(-1)).toBe("Bo Lind made an entry (a note) whose content was erased.");
  });

  it("says when the server got what was made without a connection", () => {
    const record = folded("open", "pass4");
    Object.assign(record.history[0]!, { received_at: "2026-11-25T09:01:00.000+00:00", made_offline: false });
    Object.assign(record.history[1]!, { received_at: "2026-11-25T19:03:00.001+00:00", made_offline: true });
    expect(tell(record).map((one) => one.received_at)).toEqual([null, "2026-11-25T19:03:00.001+00:00"]);
  });

  it("leaves no kind of entry, and no label, without words in either language", () => {
    const everything = folded(...Object.keys(vectors.events));
    for (const words of [english, spanish]) {
      for (const { text } of tell(everything, words)) {
        expect(text).not.toMatch(/undefined|null|\[object|pass\.started|of the kind|del tipo/);
      }
    }
    expect(Object.keys(english.things).sort()).toEqual(Object.keys(spanish.things).sort());
    expect(Object.keys(english.fields).sort()).toEqual(Object.keys(spanish.fields).sort());
  });
});

describe("what the history keeps", () => {
  it("is only what a sentence needs", () => {
    expect(saidOf("laser.emitted", { pass_id: "p", laser_on_time: "2 s", source: "tone", pulses: 0, other: "x" }))
      .toEqual({ pass_id: "p", laser_on_time: "2 s", source: "tone", pulses: 0 });
    expect(saidOf("procedure.resumed", {})).toEqual({});
    expect(saidOf("procedure.noted", null)).toBeNull();
  });

  it("names every difference once, in order, and none that is derived", () => {
    expect(changesOf({ b: [1, 2], a: { x: "1" }, dose: { p: "1" } }, { b: [1], a: { x: "2", y: null }, dose: { p: "2" } })).toEqual([
      { path: "a.x", was: "1", now: "2" }, { path: "b.1", was: 2, now: null },
    ]);
    expect(changesOf(null, { a: 1 })).toEqual([]);
  });
});
