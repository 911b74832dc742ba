/**
 * How what was said about maintenance and incidents becomes their documents. Pure; mirror of
 * `api/registers/upkeep.py`, both held to `tests/vectors/upkeep.json`.
 */
import type { Said } from "./register-fold";

type Loose = Record<string, unknown>;
export interface Mark { event_id: string; at: string; by: string | null }
export type OpenPoint = "not_assessed" | "not_reported" | "action_open";
interface Decision extends Mark { reportable: string; reported_on?: string | null }
interface Action extends Mark { action_id: string; done_on?: string | null }
interface Turn extends Mark { turn: string; text: string | null }
interface Incident extends Loose { decisions: Decision[]; actions: Action[]; turns: Turn[] }

const markOf = (body: Said): Mark => ({ event_id: body.event_id, at: body.occurred_at, by: body.actor_id });
const later = (one: unknown, other: string): boolean => typeof one === "string" && Date.parse(one) > Date.parse(other);

/** The document of a piece of work after an entry; `known` is the one before it. */
export function foldMaintenance(known: Loose | null, body: Said, payload: Loose): Loose {
  const mark = markOf(body);
  if (body.type === "maintenance.withdrawn") {
    return { ...(known ?? { maintenance_id: body.entity_id }), status: "withdrawn", withdrawn: { ...payload, ...mark } };
  }
  const said = { ...payload, maintenance_id: body.entity_id, status: "current", ...mark };
  // What came late does not bring back what somebody took back after it.
  const withdrawn = known?.["withdrawn"] as Mark | undefined;
  return withdrawn && later(withdrawn.at, mark.at) ? { ...said, status: "withdrawn", withdrawn } : said;
}

/**
 * The document of an incident after an entry. `decisions` say whether it has to be reported, `turns`
 * that it was closed or reopened, in the order in which they happened; the last of each counts.
 */
export function foldIncident(known: Loose | null, body: Said, payload: Loose): Loose {
  const mark = markOf(body);
  const said = { ...payload, ...mark };
  let document = { incident_id: body.entity_id, decisions: [], actions: [], turns: [], ...known } as Incident;
  const what = body.type.split(".")[1]!;
  if (what === "recorded") {
    const { decisions, actions, turns } = document;
    if (!later(document["at"], mark.at)) document = { ...said, decisions, actions, turns, incident_id: body.entity_id };
  } else if (what === "assessed") document.decisions = inOrder(document.decisions, said as unknown as Decision);
  else if (what === "action_set") document.actions = replaced(document.actions, said as unknown as Action);
  else document.turns = inOrder(document.turns, { ...mark, turn: what, text: ((payload["conclusion"] || payload["reason"]) ?? null) as string | null });
  const status = document.turns.at(-1)?.turn === "closed" ? "closed" : "open";
  return { ...document, status, open_points: openPoints(document) };
}

/** What is still to be done about an incident before it can be closed. */
export function openPoints({ decisions, actions }: Pick<Incident, "decisions" | "actions">): OpenPoint[] {
  const decision = decisions.at(-1);
  const found: OpenPoint[] = [];
  if (!decision || decision.reportable === "not_yet_known") found.push("not_assessed");
  else if (decision.reportable === "yes" && !decision.reported_on) found.push("not_reported");
  if (actions.some((one) => !one.done_on)) found.push("action_open");
  return found;
}

function inOrder<T extends Mark>(known: readonly T[], one: T): T[] {
  return [...known.filter(({ event_id }) => event_id !== one.event_id), one].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
}

/** Put an action in place of what was said of it before, unless that was said later. */
function replaced(actions: readonly Action[], one: Action): Action[] {
  const before = actions.find(({ action_id }) => action_id === one.action_id);
  if (!before) return [...actions, one];
  return later(before.at, one.at) ? [...actions] : actions.map((each) => (each === before ? one : each));
}
