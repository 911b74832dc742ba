/**
 * How what was said about a thing in a register becomes its document. Pure; mirror of
 * `api/registers/fold.py`, both held to `tests/vectors/registers.json`.
 */

export interface Said { event_id: string; type: string; entity_id: string; occurred_at: string; actor_id: string | null }
type Loose = Record<string, unknown>;
interface Once extends Loose { event_id: string; at: string }

/** Of what recurs as many are in the document. */
const KEPT = 20;
/** Which list of a document each type of entry adds to. */
const HISTORIES: Readonly<Record<string, string>> = {
  "eyewear.inspected": "inspections", "key.moved": "movements", "meter.calibrated": "calibrations",
};
const OF_A_CALIBRATION = ["calibrated_on", "due_on", "uncertainty", "certificate"] as const;

/** The document after an entry; `known` is the one before it. */
export function foldRegister(known: Loose | null, body: Said, payload: Loose): Loose {
  const [kind, happened] = body.type.split(".") as [string, string];
  const mark = { event_id: body.event_id, at: body.occurred_at, by: body.actor_id };
  const named = { [`${kind}_id`]: body.entity_id, status: "current" };
  const before: Loose = { ...named, ...known };
  if (happened === "retired") return { ...before, status: "retired", retired: { ...payload, ...mark } };
  const history = HISTORIES[body.type];
  if (history) {
    const changed: Loose = { ...before, [history]: withOne(before[history], { ...payload, ...mark }) };
    return kind === "meter" ? { ...changed, ...latestCalibration(changed[history] as Once[]) } : changed;
  }
  // Registered, taken or ruled: it replaces what was said before, but not what has happened.
  const kept = Object.fromEntries(Object.values(HISTORIES).filter((name) => name in before).map((name) => [name, before[name]]));
  // What a tablet handed in late does not stand before what was said after it.
  const fresh: Loose = later(before["at"], mark.at) ? before : { ...payload, ...kept, ...named, ...mark, ...stillRetired(known, mark.at) };
  if (kind !== "meter") return fresh;
  const calibration = Object.fromEntries(OF_A_CALIBRATION.map((name) => [name, payload[name] ?? null]));
  const papers = Array.isArray(payload["certificates"]) && payload["certificates"].length > 0 ? { certificates: payload["certificates"] } : {};
  const calibrations = withOne(kept["calibrations"], { ...calibration, ...papers, ...mark });
  return { ...fresh, calibrations, ...latestCalibration(calibrations) };
}

const later = (one: unknown, other: string): boolean => typeof one === "string" && Date.parse(one) > Date.parse(other);

/** Whoever registers a thing after it was retired brings it back; what was registered before that, and only came late, does not. */
function stillRetired(known: Loose | null, at: string): Loose {
  const retired = known?.["retired"] as Once | null | undefined;
  return later(retired?.at, at) ? { status: "retired", retired } : {};
}

/** Add one, in the order in which it happened: a tablet may hand in late. */
function withOne(history: unknown, one: Once): Once[] {
  const others = ((history ?? []) as Once[]).filter(({ event_id }) => event_id !== one.event_id);
  return [...others, one].sort((a, b) => Date.parse(a.at) - Date.parse(b.at)).slice(-KEPT);
}

/** What the newest certificate says; of one day the one noted last. */
function latestCalibration(calibrations: readonly Once[]): Loose {
  const day = (one: Once) => (one["calibrated_on"] as string | null | undefined) ?? "";
  const newest = calibrations.reduce((best, one) => (day(one) >= day(best) ? one : best));
  return Object.fromEntries(OF_A_CALIBRATION.map((name) => [name, newest[name] ?? null]));
}
