/**
 * What is due, and when. Pure; mirror of `api/registers/due.py`, both held to `tests/vectors/due.json`.
 * It says when to look again, never that something is safe until then.
 */
import { localDay } from "./lists";

export type DueState = "overdue" | "due" | "soon";
export interface DueRow {
  what: string;
  subject_kind: string;
  subject_id: string;
  /** A day of the location's calendar; null where it was never done. */
  due_on: string | null;
  state: DueState;
  /** Which credential of a person, which action after an incident. */
  detail: string | null;
}
export interface DueRule { every_days: number | null; every_months: number | null }

type Loose = Readonly<Record<string, unknown>>;
/** The house's documents by kind, as they are stored; a kind that is missing says nothing. */
export type DueDocuments = Readonly<Record<string, readonly object[] | undefined>>;

/** Of whom each is known: see `DEFAULTS` of the server's module. */
export const DUE_DEFAULTS: Readonly<Record<string, DueRule>> = {
  meter_calibration: { every_days: null, every_months: 12 },
  eyewear_inspection: { every_days: null, every_months: 12 },
  inventory: { every_days: null, every_months: 12 },
  power_check: { every_days: 7, every_months: null },
  maintenance: { every_days: null, every_months: 12 },
  weekly: { every_days: 7, every_months: null },
  monthly: { every_days: null, every_months: 1 },
  yearly: { every_days: null, every_months: 12 },
};
/** Lists about a laser that are answered again and again, by their kind. */
const AGAIN = ["weekly", "monthly", "yearly"] as const;
/** After which work a laser has to show anew that it is right, and by which lists: see `due_lasers.py`. */
const WORKED_ON: readonly unknown[] = ["move", "service", "repair"];
const AFTER_WORK: readonly unknown[] = ["after_move", "commissioning"];
/** What keeps a laser in order, and not only puts right what broke. */
const KEEPS_IN_ORDER: readonly unknown[] = ["service", "inspection"];
const ASSESSED_WITHIN = { every_days: 1, every_months: null };
const REPORT_SOON_DAYS = 30;
const ACTION_SOON_DAYS = 7;
const CREDENTIAL_SOON_DAYS = 60;
const ORDER: readonly DueState[] = ["overdue", "due", "soon"];

interface Today { day: string; zone: string | null }
type Found = (add: (what: string, subject: readonly [string, string], due_on: string | null, soon_days: number, detail?: string | null) => void) => void;

/** What is overdue, due today or due soon, the most pressing first. */
export function dueRows(documents: DueDocuments, at_ms: number, zone: string | null): DueRow[] {
  const today = { day: localDay(at_ms, zone), zone };
  const rules = dueRules(documents["due_rule"] as readonly Loose[] | undefined);
  const rows: DueRow[] = [];
  const add: Parameters<Found>[0] = (what, [subject_kind, subject_id], due_on, soon_days, detail = null) => {
    const state = stateOf(due_on, today.day, soon_days);
    if (state) rows.push({ what, subject_kind, subject_id, due_on, state, detail });
  };
  for (const found of SUBJECTS) found(documents, rules, today)(add);
  const key = (row: DueRow) => [String(ORDER.indexOf(row.state)), row.due_on ?? "", row.what, row.subject_id, row.detail ?? ""];
  return rows.sort((a, b) => compare(key(a), key(b)));
}

/** The practice's own rules in place of the defaults. One that says neither or both says nothing that could be reckoned with. */
export function dueRules(ruled: readonly Loose[] = []): Record<string, DueRule> {
  const rules: Record<string, DueRule> = { ...DUE_DEFAULTS };
  for (const one of ruled) {
    const what = one["due_rule_id"] as string;
    const days = (one["every_days"] as number | null | undefined) ?? null;
    const months = (one["every_months"] as number | null | undefined) ?? null;
    if (rules[what] && (days === null) !== (months === null)) rules[what] = { every_days: days, every_months: months };
  }
  return rules;
}

/** When it is due again; the last day of a month stays in the month that is meant. */
export function dayAfter(day: string, rule: DueRule): string {
  const [year, month, date] = day.split("-").map(Number) as [number, number, number];
  if (rule.every_days !== null) return isoDay(Date.UTC(year, month - 1, date + rule.every_days));
  const first = Date.UTC(year, month - 1 + (rule.every_months ?? 0), 1);
  const last = new Date(Date.UTC(new Date(first).getUTCFullYear(), new Date(first).getUTCMonth() + 1, 0)).getUTCDate();
  return isoDay(first + (Math.min(date, last) - 1) * DAY_MS);
}

/** Whether what was done at a moment is due again by the location's calendar. */
export const isDueAgain = (done_at: string, rule: DueRule, at_ms: number, zone: string | null): boolean =>
  dayAfter(localDay(Date.parse(done_at), zone), rule) <= localDay(at_ms, zone);

/** How many days ahead it is called soon: at most a month, or a quarter of the time. */
const soonDays = (rule: DueRule): number => Math.min(30, Math.floor((rule.every_days ?? 28 * (rule.every_months ?? 0)) / 4));

const DAY_MS = 86_400_000;
const isoDay = (at_ms: number): string => new Date(at_ms).toISOString().slice(0, 10);

function stateOf(due_on: string | null, today: string, soon_days: number): DueState | null {
  if (due_on === null || due_on === today) return "due";
  if (due_on < today) return "overdue";
  return due_on <= dayAfter(today, { every_days: soon_days, every_months: null }) ? "soon" : null;
}

function compare(a: readonly string[], b: readonly string[]): number {
  const at = a.findIndex((part, n) => part !== b[n]);
  return at < 0 ? 0 : a[at]! < b[at]! ? -1 : 1;
}

const of = (documents: DueDocuments, kind: string): readonly Loose[] => (documents[kind] ?? []) as readonly Loose[];
const inUse = (documents: DueDocuments, kind: string): readonly Loose[] =>
  of(documents, kind).filter(({ status }) => status == null || status === "current");
const latest = (days: readonly string[]): string | null => days.reduce<string | null>((best, day) => (best === null || day > best ? day : best), null);
const again = (last: string | null, rule: DueRule): string | null => (last === null ? null : dayAfter(last, rule));

type Subject = (documents: DueDocuments, rules: Readonly<Record<string, DueRule>>, today: Today) => Found;

const meters: Subject = (documents, rules) => (add) => {
  const rule = rules["meter_calibration"]!;
  for (const meter of inUse(documents, "meter")) {
    const due_on = (meter["due_on"] as string | null | undefined) || dayAfter(meter["calibrated_on"] as string, rule);
    add("meter_calibration", ["meter", meter["meter_id"] as string], due_on, soonDays(rule));
  }
};

const eyewear: Subject = (documents, rules, { zone }) => (add) => {
  const rule = rules["eyewear_inspection"]!;
  for (const piece of inUse(documents, "eyewear")) {
    const days = ((piece["inspections"] ?? []) as readonly { at: string }[]).map(({ at }) => localDay(Date.parse(at), zone));
    add("eyewear_inspection", ["eyewear", piece["eyewear_id"] as string], again(latest(days), rule), soonDays(rule));
  }
};

const inventory: Subject = (documents, rules) => (add) => {
  const rule = rules["inventory"]!;
  const last = latest(of(documents, "inventory").map((one) => one["seen_on"] as string));
  for (const location of of(documents, "location")) {
    add("inventory", ["location", location["location_id"] as string], again(last, rule), soonDays(rule));
  }
};

/** On which day there was work on a laser last; what is yet to come is none. */
const workedOn = (documents: DueDocuments, device_id: unknown, today: string): string | null => latest(inUse(documents, "maintenance")
  .filter((work) => work["device_id"] === device_id && WORKED_ON.includes(work["kind"]) && (work["done_on"] as string) <= today).map((work) => work["done_on"] as string));

const powerChecks: Subject = (documents, rules, { day: today, zone }) => (add) => {
  const rule = rules["power_check"]!;
  const passed = of(documents, "verification").filter(({ verdict }) => verdict === "ok" || verdict === "warn");
  for (const device of inUse(documents, "device")) {
    const days = passed.filter(({ device_id }) => device_id === device["device_id"]).map((one) => localDay(Date.parse(one["verified_at"] as string), zone));
    const last = latest(days);
    const worked = workedOn(documents, device["device_id"], today);
    const byRule = again(last, rule);
    const due_on = last !== null && worked !== null && last < worked && worked < byRule! ? worked : byRule;
    add("power_check", ["device", device["device_id"] as string], due_on, soonDays(rule));
  }
};

/** The lists to be answered for each laser, of the kinds that the practice has written. */
const lists: Subject = (documents, rules, { day, zone }) => (add) => {
  const begun = (list: Loose) => ((list["versions"] ?? []) as readonly { effective_from?: string | null }[]).some((one) => one.effective_from == null || one.effective_from <= day);
  const written = new Set(of(documents, "list").filter(begun).map(({ kind }) => kind));
  const passed = of(documents, "device_check").filter(({ verdict }) => verdict === "passed");
  for (const { device_id } of inUse(documents, "device")) {
    for (const kind of AGAIN) {
      if (!written.has(kind)) continue;
      const days = passed.filter((one) => one["device_id"] === device_id && one["kind"] === kind).map((one) => localDay(Date.parse(one["done_at"] as string), zone));
      add(kind, ["device", device_id as string], again(latest(days), rules[kind]!), soonDays(rules[kind]!));
    }
    const worked = written.has("after_move") ? workedOn(documents, device_id, day) : null;
    const shown = passed.some((one) => one["device_id"] === device_id && AFTER_WORK.includes(one["kind"]) && localDay(Date.parse(one["done_at"] as string), zone) >= worked!);
    if (worked !== null && !shown) add("after_move", ["device", device_id as string], worked, 0);
  }
};

/** As the last service says, or by the practice's rule; where there is neither, nothing is said. */
const maintenance: Subject = (documents, rules) => (add) => {
  const rule = rules["maintenance"]!;
  const ruled = of(documents, "due_rule").some(({ due_rule_id }) => due_rule_id === "maintenance");
  const works = inUse(documents, "maintenance").filter(({ kind }) => KEEPS_IN_ORDER.includes(kind));
  for (const device of inUse(documents, "device")) {
    const done = (work: Loose) => work["done_on"] as string;
    const last = works.filter(({ device_id }) => device_id === device["device_id"])
      .reduce<Loose | null>((best, work) => (best === null || done(work) > done(best) ? work : best), null);
    if (last === null && !ruled) continue;
    const stated = last?.["next_due_on"] as string | null | undefined;
    add("maintenance", ["device", device["device_id"] as string], last && (stated || dayAfter(done(last), rule)), soonDays(rule));
  }
};

interface Told { incident_id: string; status: string; happened_at?: string; open_points: readonly string[]; decisions: readonly { report_by?: string | null }[]; actions: readonly { action_id: string; by_day?: string | null; done_on?: string | null }[] }

const incidents: Subject = (documents, _rules, { zone }) => (add) => {
  for (const one of of(documents, "incident") as unknown as readonly Told[]) {
    if (one.status !== "open") continue;
    const subject = ["incident", one.incident_id] as const;
    if (one.open_points.includes("not_assessed") && one.happened_at) {
      add("incident_assessment", subject, dayAfter(localDay(Date.parse(one.happened_at), zone), ASSESSED_WITHIN), ASSESSED_WITHIN.every_days);
    }
    if (one.open_points.includes("not_reported")) add("incident_report", subject, one.decisions.at(-1)?.report_by || null, REPORT_SOON_DAYS);
    for (const action of one.actions) if (action.by_day && !action.done_on) add("incident_action", subject, action.by_day, ACTION_SOON_DAYS, action.action_id);
  }
};

interface Held { credential_id: string; kind: string; expires_on?: string | null; ended_at?: string | null }

const credentials: Subject = (documents) => (add) => {
  for (const person of inUse(documents, "person")) {
    if (person["left_at"]) continue;
    const held = ((person["credentials"] ?? []) as readonly Held[]).filter(({ ended_at }) => ended_at == null);
    const subject = ["person", person["person_id"] as string] as const;
    for (const one of held) if (one.expires_on) add("credential", subject, one.expires_on, CREDENTIAL_SOON_DAYS, one.credential_id);
    // As an older version noted it, until a licence stands among the credentials.
    const older = person["licence_expires"] as string | null | undefined;
    if (older && !held.some(({ kind }) => kind === "licence")) add("credential", subject, older, CREDENTIAL_SOON_DAYS);
  }
};

/** Whose due days are reckoned; another subject adds its own. */
const SUBJECTS: readonly Subject[] = [meters, eyewear, inventory, powerChecks, lists, maintenance, incidents, credentials];
