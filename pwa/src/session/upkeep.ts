/** Maintenance and incidents of this house, with what this tablet has said since. */
import { computed } from "@preact/signals";
import type { EventDraft } from "../events/build";
import type {
  EventType, IncidentActionSet, IncidentAssessed, IncidentRecorded, MaintenanceRecorded,
} from "../events/catalogue";
import { newId } from "../events/ids";
import type { StoredEvent } from "../outbox/read";
import { write } from "./commands";
import { say } from "./commands_house";
import { house } from "./house";
import type { Said } from "./register-fold";
import { seat } from "./state";
import { foldIncident, foldMaintenance, type Mark, type OpenPoint } from "./upkeep-fold";
import { eventsOf, writtenAbout } from "./written";

export type Maintenance = MaintenanceRecorded & Mark & { maintenance_id: string; status: string; withdrawn?: ({ reason: string } & Mark) | null };
export type Assessment = IncidentAssessed & Mark;
export type Action = IncidentActionSet & Mark;
export interface Turn extends Mark { turn: "closed" | "reopened"; text: string | null }
export type Incident = IncidentRecorded & Mark & {
  incident_id: string; status: "open" | "closed"; decisions: Assessment[]; actions: Action[]; turns: Turn[]; open_points: OpenPoint[];
};

type Loose = Record<string, unknown>;
type Fold = (known: Loose | null, body: Said, payload: Loose) => Loose;
type Own = Pick<StoredEvent, "body" | "payload" | "result">;
/** What the server put aside or refused counts no more here than there. */
const COUNTS: ReadonlySet<string> = new Set(["applied", "duplicate"]);
const KINDS = {
  maintenance: { fold: foldMaintenance as Fold, types: ["maintenance.recorded", "maintenance.withdrawn"] },
  incident: { fold: foldIncident as Fold, types: ["incident.recorded", "incident.assessed", "incident.action_set", "incident.closed", "incident.reopened"] },
} as const;

/** One document with what this tablet said about it and the server has not sent back yet. Pure. */
export function withSaidOf(kind: keyof typeof KINDS, document: Loose | null, own: readonly Own[]): Loose | null {
  const { fold, types } = KINDS[kind];
  return own.reduce<Loose | null>((known, { body, payload, result }) => {
    const outcome = (result as { outcome?: string } | null)?.outcome;
    if (!(types as readonly string[]).includes(body.type) || (outcome !== undefined && !COUNTS.has(outcome))) return known;
    // Work that was recorded or taken back later has replaced it; ids follow each other in time.
    const replaced = kind === "maintenance" && String(known?.["event_id"] ?? "") >= body.event_id;
    return replaced ? known : fold(known, body as Said, payload as Loose);
  }, document);
}

function all<T>(kind: keyof typeof KINDS): T[] {
  const known = new Map<string, Loose | null>((house.value.documents[kind] ?? []).map((doc) => [String(doc[`${kind}_id`]), doc]));
  for (const id of writtenAbout(KINDS[kind].types)) if (!known.has(id)) known.set(id, null);
  return [...known].flatMap(([id, doc]) => withSaidOf(kind, doc, eventsOf(id)) ?? []) as unknown as T[];
}

export const maintenance = computed(() => all<Maintenance>("maintenance").sort((a, b) => (a.done_on < b.done_on ? 1 : a.done_on > b.done_on ? -1 : 0)));
/** The newest first; one of which only something later has come yet has no beginning to be shown. */
export const incidents = computed(() => all<Incident>("incident").filter((one) => one.happened_at)
  .sort((a, b) => Date.parse(b.happened_at) - Date.parse(a.happened_at)));

export const maintenanceOf = (device_id: string): Maintenance[] => maintenance.value.filter((one) => one.device_id === device_id);

const saying = (type: EventType) => (entity_id: string, payload: object, key: string = newId()) => say({ type, entity_id, payload } as EventDraft, key);

export const withdrawMaintenance = saying("maintenance.withdrawn");
export const assessIncident = saying("incident.assessed");
export const setAction = saying("incident.action_set");
export const closeIncident = saying("incident.closed");
export const reopenIncident = saying("incident.reopened");

/**
 * Record what went wrong and, where it says so, take the laser out of service with it: on a tablet in one
 * save, at a desk one after the other, each done once under its key.
 */
export async function recordIncident(entity_id: string, said: IncidentRecorded, reason: string | null, key: string): Promise<void> {
  const drafts: EventDraft[] = [{ type: "incident.recorded", entity_id, payload: said }];
  if (reason !== null && said.device_id !== null) {
    drafts.push({ type: "device.taken_out", entity_id: said.device_id, payload: { reason_code: "suspicion", reason, key_held_by: null } });
  }
  if (seat.value !== "desk") { await write(drafts); return; }
  for (const [n, one] of drafts.entries()) await say(one, n === 0 ? key : `${key}-${n}`);
}
