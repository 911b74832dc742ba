/** What the session reads from the house's documents; fields beyond these are left alone. */

import type { VerificationRecorded } from "../events/catalogue";
import type { Operator } from "./operators";
import type { Made } from "./service-proofs";

/** A dose request as a preset or a pass carries it: strings only. */
export interface Settings {
  wavelength: string;
  emission: Record<string, string>;
  delivery?: Record<string, string>;
  spot?: Record<string, string>;
  motion?: Record<string, string>;
  uncertainty?: Record<string, string>;
  emission_time?: string;
}

export interface Person extends Operator {
  person_id: string;
  display_name: string;
  initials: string;
  roles: string[];
  credential?: string | null;
  licence_expires: string | null;
  /** The last day, YYYY-MM-DD, on which the role of auditor counts. */
  auditor_until?: string | null;
  /** When the work here ended, and why. */
  left_at?: string | null;
  left_because?: string | null;
}

export interface Device {
  device_id: string;
  label: string;
  maker: string;
  model: string;
  serial: string;
  wavelength: string;
  delivery_part: string;
  modes: string[];
  limits: Record<string, { min?: string; max?: string }>;
  room_id: string | null;
}

export interface Handpiece {
  handpiece_id: string;
  device_id: string;
  label: string;
  kind: string;
  spot_diameter: string;
  diameter_definition: string;
  spot_known: string;
  working_distance: string | null;
  /** What is known of its optics, by the names of a dose request; absent from older entries. */
  optics?: Record<string, string> | null;
  /** How often it may be used, where that is known. */
  use_limit?: number | null;
}

/** In how many records, void ones apart, a handpiece was used. */
export interface HandpieceUse { handpiece_id: string; uses: number; last_used_at: string | null }

export interface ProcedureKind {
  procedure_kind_id: string;
  text: string;
  code: string | null;
  notes?: string | null;
  cautions?: string | null;
  retired?: boolean | null;
  /** Procedures of the published cases that stand on its page. */
  reported?: string[] | null;
  event_id?: string;
  listed_at?: string;
  listed_by?: string | null;
}

export interface ListItem {
  item_id: string;
  text: string;
  group?: string | null | undefined;
  why?: string | null | undefined;
  /** Whether it may be answered so: "plain" where nothing is said, "reason", "never". */
  not_applicable?: "plain" | "reason" | "never" | null | undefined;
  /** What stands beside it: a picture, or what is known here of today's check of the laser. */
  beside?: Beside | null | undefined;
}

export const BESIDE = ["aiming_beam", "test_exposure", "nozzle", "todays_check"] as const;
export type Beside = (typeof BESIDE)[number];

export interface ListVersion {
  kind: string;
  version: number;
  title: string;
  items: ListItem[];
  /** In force from this day on (YYYY-MM-DD, the location's calendar); null: at once. */
  effective_from?: string | null;
  needs_acknowledgement?: boolean | null;
  /** How long after the end of a procedure a list of after use may be answered [s]. */
  within_s?: number | null;
  /** The draft that this version was made of. */
  from_draft?: string | null;
  event_id?: string;
  published_at?: string;
  published_by?: string | null;
}

export interface ListDraft extends ListVersion { base_version: number | null }

/** A list: in front what was published last, which may not be in force yet. */
export interface ListDocument extends ListVersion {
  list_id: string;
  versions?: ListVersion[];
  /** Versions that built on one that was no longer the last: they wait for a decision. */
  drafts?: ListDraft[];
  set_aside?: (ListDraft & { set_aside: { reason: string | null; at: string; by: string | null } })[];
  acknowledged_by?: { person_id: string; version: number; at: string }[];
}

export interface Preset {
  preset_id: string;
  version: number;
  name: string;
  procedure_kind_id: string | null;
  device_id: string;
  handpiece_id: string;
  settings: Settings;
  spot_known: string;
  focus: string;
  coolant: string;
  note: string | null;
  reviewed_by: string;
  /** The publication that these values come from. */
  event_id?: string;
  from_draft?: string | null;
}

export interface PresetVersion extends Preset { event_id: string; published_at: string; published_by: string | null }
/** A version that built on something that was no longer in force. */
export interface PresetDraft extends PresetVersion { base_version: number | null }
export interface Withdrawal { event_id: string; version: number | null; reason: string | null; at: string; by: string | null }

/** A preset with its history: the version in force in front, if there ever was one. */
export interface PresetDocument extends Partial<PresetVersion> {
  preset_id: string;
  status: "current" | "withdrawn" | "draft";
  withdrawn: Withdrawal | null;
  versions: PresetVersion[];
  drafts: PresetDraft[];
  set_aside: (PresetDraft & { set_aside: { reason: string | null; at: string; by: string | null } })[];
  withdrawals: Withdrawal[];
}

export interface Verification {
  verification_id: string;
  event_id: string | null;
  device_id: string;
  handpiece_id: string;
  mode: string;
  ratio: string;
  ratio_uncertainty: string | null;
  verdict: string;
  verified_at: string;
  verified_by: string | null;
  /** What was said of it: the meter, the readings, the note. */
  said: VerificationRecorded;
  /** What is known of when it was written. */
  made?: Made;
}

export interface Place { location_id: string; name: string; practice_name: string; zone: string; rooms: { room_id: string; name: string }[]; offline_days?: number }

/** How a pass is held and where its settings came from, beside the settings themselves. */
export interface PassPlan {
  device_id: string;
  handpiece_id: string;
  settings: Settings;
  preset: { preset_id: string; version: number; name: string; event_id?: string | null } | null;
  preset_settings: Settings | null;
  spot_known: string;
  focus: string;
  coolant: string;
  distance: string | null;
}
