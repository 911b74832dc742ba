/** A record's history, told in sentences for somebody who knows nothing of events. Pure. */

import type { HistoryLine, RecordDocument } from "./record";

/** One thing that an entry says otherwise than the entry it replaces. */
export interface Change { path: string; was: unknown; now: unknown }

/** The words of the sentences, in one language; each verb takes who did it. */
export interface HistoryWords {
  somebody: string;
  opened: (who: string, what: string) => string;
  timeout: (who: string, title: string) => string;
  list: (who: string, title: string) => string;
  pass: (who: string, n: number, settings: string, tip: string | null) => string;
  laserOn: (who: string, time: string, source: string, n: number | null) => string;
  noted: (who: string, text: string) => string;
  paused: (who: string, reason: string | null) => string;
  resumed: (who: string) => string;
  handedOver: (who: string, role: string, from: string, to: string) => string;
  accepted: (who: string, operator: string, reason: string) => string;
  overridden: (who: string, causes: string, reason: string) => string;
  protection: (who: string, heads: number) => string;
  attachment: (who: string, caption: string | null) => string;
  ended: (who: string) => string;
  signed: (who: string, role: string) => string;
  addendum: (who: string, reason: string) => string;
  placed: (who: string, how: string) => string;
  removed: (who: string) => string;
  moved: (who: string, to: string, reason: string) => string;
  voided: (who: string, reason: string) => string;
  other: (who: string, type: string) => string;
  corrected: (who: string, what: string, changes: string) => string;
  withdrawn: (who: string, what: string, reason: string) => string;
  withdrewNothing: (who: string) => string;
  erased: (who: string, type: string) => string;
  change: (label: string, was: string, now: string) => string;
  added: (label: string, now: string) => string;
  dropped: (label: string, was: string) => string;
  nothingElse: string;
  yes: string;
  no: string;
  things: Record<string, string>;
  thePass: (n: number) => string;
  theTime: (n: number | null) => string;
  sources: Record<string, string>;
  roles: Record<string, string>;
  hows: Record<string, string>;
  fields: Record<string, string>;
  numbered: (label: string, n: number) => string;
}

/** What the reader's surroundings know: names, and how numbers and times are written. */
export interface Look {
  person: (id: string) => string | null;
  settings: (settings: unknown) => string;
  moment: (at: string) => string;
  quantity: (text: string) => string;
}

export type Standing = "holds" | "taken back" | "replaced" | "without effect";
export interface Told {
  event_id: string;
  at: string;
  tablet_id: string;
  text: string;
  standing: Standing;
  /** When the server got it, where it was made without a connection. */
  received_at: string | null;
}

/** Every entry of the record as one sentence, by the clocks of those who made them. */
export function historyOf(record: Pick<RecordDocument, "history">, words: HistoryWords, look: Look): Told[] {
  const lines = new Map(record.history.map((line) => [line.event_id, line]));
  const teller = new Teller(record.history, lines, words, look);
  const told = record.history.map((line) => ({
    event_id: line.event_id,
    at: line.at,
    tablet_id: line.tablet_id,
    text: teller.sentence(line),
    standing: standing(line, record.history),
    received_at: line.made_offline ? line.received_at ?? null : null,
  }));
  return inTime(told, lines);
}

/** Writers' entries merged by time; a clock that was put back does not turn a writer's own around. */
function inTime(told: readonly Told[], lines: ReadonlyMap<string, HistoryLine>): Told[] {
  const latest = new Map<string, number>();
  const seq = (one: Told): number => lines.get(one.event_id)!.tablet_seq;
  const at = new Map<string, number>();
  for (const one of [...told].sort((a, b) => seq(a) - seq(b))) {
    const ms = Math.max(Date.parse(one.at), latest.get(one.tablet_id) ?? -Infinity);
    latest.set(one.tablet_id, ms);
    at.set(one.event_id, ms);
  }
  return [...told].sort((a, b) => at.get(a.event_id)! - at.get(b.event_id)! || (a.tablet_id === b.tablet_id ? seq(a) - seq(b) : 0));
}

function standing(line: HistoryLine, all: readonly HistoryLine[]): Standing {
  if (line.effective) return "holds";
  const about = all.filter((one) => one.corrects === line.event_id);
  if (about.some((one) => one.type === "entry.withdrawn" && one.effective)) return "taken back";
  return about.some((one) => one.type === line.type) ? "replaced" : "without effect";
}

type Said = Record<string, unknown>;

const tipOf = (said: Said | null | undefined): string | null => text((said?.["handpiece"] as Said | null | undefined)?.["label"]) || null;

class Teller {
  private readonly passes = new Map<string, number>();
  /** The tip of a pass, where it is another one than before; by the entry that started the pass. */
  private readonly changedTips = new Map<string, string>();

  constructor(
    all: readonly HistoryLine[],
    private readonly lines: ReadonlyMap<string, HistoryLine>,
    private readonly words: HistoryWords,
    private readonly look: Look,
  ) {
    const opened = tipOf(all.find(({ type, effective }) => type === "procedure.opened" && effective)?.said);
    let before = opened;
    for (const { type, said, event_id, corrects } of all) {
      if (type !== "pass.started" || !said) continue;
      this.passes.set(String(said["pass_id"]), Number(said["number"]));
      // A correction says its changes by itself, and stands later than the pass it is about.
      if (corrects !== null) continue;
      const tip = tipOf(said) ?? opened;
      if (tip !== null && tip !== before) this.changedTips.set(event_id, tip);
      before = tip;
    }
  }

  sentence(line: HistoryLine): string {
    const who = this.who(line.by);
    const { words } = this;
    if (line.said == null) return words.erased(who, words.things[line.type] ?? line.type);
    const target = line.corrects === null ? undefined : this.lines.get(line.corrects);
    if (line.type === "entry.withdrawn") {
      return target ? words.withdrawn(who, this.thing(target), text(line.said["reason"])) : words.withdrewNothing(who);
    }
    if (target && target.type === line.type && line.type !== "record.addended") {
      return words.corrected(who, this.thing(target), this.changes(line.changes ?? []) || words.nothingElse);
    }
    return this.plain(line, who, line.said);
  }

  private plain(line: HistoryLine, who: string, said: Said): string {
    const { words, look } = this;
    const of = (name: string): string => text(said[name]);
    switch (line.type) {
      case "procedure.opened": return words.opened(who, [text((said["procedure"] as Said | null)?.["text"]), of("site")].filter(Boolean).join(", "));
      case "timeout.answered": return words.timeout(who, of("title"));
      case "list.answered": return words.list(who, of("title"));
      case "pass.started": return words.pass(who, Number(said["number"]), look.settings(said["settings"]), this.changedTips.get(line.event_id) ?? null);
      case "laser.emitted": return words.laserOn(who, look.quantity(of("laser_on_time")), words.sources[of("source")] ?? of("source"), this.passNumber(said));
      case "procedure.noted": return words.noted(who, of("text"));
      case "procedure.paused": return words.paused(who, of("reason") || null);
      case "procedure.resumed": return words.resumed(who);
      case "procedure.handed_over": return words.handedOver(who, words.roles[of("role")] ?? of("role"), this.who(of("from_id")), this.who(of("to_id")));
      case "operator.accepted": return words.accepted(who, this.who(of("operator_id")), of("reason"));
      case "service.overridden": return words.overridden(who, ((said["causes"] as { text: string }[] | null) ?? []).map((one) => one.text).join("; "), of("reason"));
      case "protection.noted": return words.protection(who, Number(said["heads"]));
      case "attachment.added": return words.attachment(who, of("caption") || null);
      case "procedure.ended": return words.ended(who);
      case "record.signed": return words.signed(this.who(of("signer_id") || line.by), words.roles[of("role")] ?? of("role"));
      case "record.addended": return words.addendum(who, of("reason"));
      case "record.placed_in_chart": return words.placed(who, words.hows[of("how")] ?? of("how"));
      case "record.removed_from_chart": return words.removed(who);
      case "record.reattributed": return words.moved(who, patient(said["to"]), of("reason"));
      case "record.voided": return words.voided(who, of("reason"));
      default: return words.other(who, line.type);
    }
  }

  /** What an entry is called where another one speaks of it. */
  private thing(line: HistoryLine): string {
    const { words } = this;
    if (line.said && line.type === "pass.started") return words.thePass(Number(line.said["number"]));
    if (line.said && line.type === "laser.emitted") {
      return `${words.theTime(this.passNumber(line.said))} (${this.look.quantity(text(line.said["laser_on_time"]))})`;
    }
    const name = words.things[line.type] ?? line.type;
    if (line.said && line.type === "procedure.noted") return `${name} (“${text(line.said["text"])}”)`;
    return name;
  }

  private passNumber(said: Said): number | null {
    return this.passes.get(String(said["pass_id"])) ?? null;
  }

  private changes(changes: readonly Change[]): string {
    const { words } = this;
    return changes.filter(({ path }) => told(path)).map(({ path, was, now }) => {
      const label = this.label(path);
      if (was == null || was === "") return words.added(label, this.value(path, now));
      if (now == null || now === "") return words.dropped(label, this.value(path, was));
      return words.change(label, this.value(path, was), this.value(path, now));
    }).join("; ");
  }

  private label(path: string): string {
    const { words } = this;
    const steps = path.split(".");
    const place = steps.findIndex((step) => /^\d+$/.test(step));
    const general = steps.map((step) => (/^\d+$/.test(step) ? "#" : step)).join(".");
    const last = [...steps].reverse().find((step) => !/^\d+$/.test(step)) ?? path;
    const label = words.fields[general] ?? words.fields[last] ?? last.replaceAll("_", " ");
    return place < 0 ? label : words.numbered(label, Number(steps[place]) + 1);
  }

  private value(path: string, value: unknown): string {
    if (typeof value === "boolean") return value ? this.words.yes : this.words.no;
    if (typeof value === "string" && PEOPLE.test(path)) return this.who(value);
    if (typeof value === "string" && MOMENT.test(value)) return this.look.moment(value);
    return typeof value === "string" && QUANTITY.test(value) ? this.look.quantity(value) : text(value);
  }

  private who(id: string | null): string {
    return (id ? this.look.person(id) : null) ?? this.words.somebody;
  }
}

const PEOPLE = /(^|\.)(operator_id|supervising_id|assistant_ids\.\d+|led_by|by|from_id|to_id|signer_id)$/;
const QUANTITY = /^[0-9]+(\.[0-9]+)? \S+$/;
const MOMENT = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d/;
/** Numbers of things mean nothing to a reader; what they stand for is told beside them. */
const told = (path: string): boolean =>
  PEOPLE.test(path) || !/(^|\.)(\w+_id|\w+_ids\.\d+|answered_at|sha256|content_hash)$/.test(path);

const text = (value: unknown): string => (value == null ? "" : typeof value === "object" ? JSON.stringify(value) : String(value));
const patient = (value: unknown): string => {
  const { chart_number, second_identifier } = (value ?? {}) as Said;
  return [text(chart_number), text(second_identifier)].filter(Boolean).join(" ");
};
