/** The record document: what the fold of one procedure's events comes to. */

import type {
  AttachmentAdded, ListAnswered, PassStarted, Patient, ProcedureEnded, OperatorAccepted, ProcedureHandedOver, ProcedureOpened,
  ProtectionNoted, ServiceOverridden, TimeoutAnswered,
} from "../events/catalogue";
import type { Change } from "./history";
import type { Flag } from "./order";
import type { PassDose } from "./passdose";

/** When something was first entered, by whom what holds was written, and in which event. */
export interface Trace { at: string; by: string | null; event_id: string }

export interface LaserOn {
  seconds: number;
  source: string;
  pulses: number | null;
  at: string;
  event_id: string;
}

export interface RecordPass {
  pass_id: string;
  number: number;
  settings: PassStarted["settings"];
  preset: PassStarted["preset"];
  changed_from_preset: boolean;
  spot_known: PassStarted["spot_known"];
  focus: PassStarted["focus"];
  coolant: PassStarted["coolant"];
  distance: string | null;
  operator_id: string | null;
  /** Its own, else the record's. */
  handpiece: ProcedureOpened["handpiece"] | null;
  verification: ProcedureOpened["verification"];
  started_at: string;
  ended_at: string | null;
  laser_on: LaserOn[];
  laser_on_s: number;
  sources: string[];
  dose: PassDose;
  total_energy_j: { set: number | null; delivered: number | null };
  tablet_dose: PassStarted["dose"] | null;
  event_id: string;
}

export interface HistoryLine {
  event_id: string;
  type: string;
  at: string;
  by: string | null;
  tablet_id: string;
  tablet_seq: number;
  corrects: string | null;
  body_hash: string;
  effective: boolean;
  /** What a sentence about the entry needs; null where its content was erased. */
  said: Record<string, unknown> | null;
  /** What a correction says otherwise than what it corrects. */
  changes: Change[];
  /** When the server got it; only the server knows. */
  received_at?: string;
  /** Whether it was made more than a minute before, by a clock put right; only the server knows. */
  made_offline?: boolean;
}

export interface AnsweredList extends ListAnswered { completed_at: string; event_id: string }

export interface Pause { from_at: string; to_at: string | null; reason: string | null; by: string | null; event_id: string }

/** That a version of the record was put into the chart. */
export interface Placing extends Trace { how: string; note: string | null; version: number }

export interface RecordVersion extends Trace {
  version: number;
  cause: "signed" | "addendum" | "reattribution" | "void";
}

type Opening = { [Name in keyof Omit<ProcedureOpened, "assistant_ids">]: ProcedureOpened[Name] | null };

export interface RecordDocument extends Opening {
  record_id: string;
  location_id: string;
  /** "erased" is said by the server only, of a record of which nothing is left. */
  status: "draft" | "ended" | "signed" | "amended" | "void" | "erased";
  erased?: {
    basis: "retention_ended" | "request" | "order"; citation: string; asked_by: string | null; by: string | null; at: string; position: number;
  };
  version: number;
  assistant_ids: string[];
  ended_at: string | null;
  time_out: null | (TimeoutAnswered & { completed_at: string });
  lists: AnsweredList[];
  /** The last word on how people were protected. */
  protection: (ProtectionNoted & Trace) | null;
  passes: RecordPass[];
  pauses: Pause[];
  handovers: (ProcedureHandedOver & Trace)[];
  /** Operators with whom it went on although something stood against them. */
  accepted: (OperatorAccepted & Trace)[];
  /** Why it went on with a laser that was out of service. */
  overrides: (ServiceOverridden & Trace)[];
  notes: ({ text: string } & Trace)[];
  attachments: (AttachmentAdded & Trace)[];
  outcome: ProcedureEnded["outcome"] | null;
  sign_off: null | {
    signer_id: string; role: string; at: string; content_hash: string; event_id: string; statement: string;
  };
  addenda: ({ text: string; reason: string } & Trace)[];
  /** The last placing of the latest version that was placed. */
  chart: null | Placing;
  placings: Placing[];
  removals: ({ because: string; note: string | null } & Trace)[];
  reattributions: ({ from: Patient; to: Patient; reason: string } & Trace)[];
  voided: null | ({ reason: string } & Trace);
  /** One for the signature and one for each change after it; none while unsigned. */
  versions: RecordVersion[];
  history: HistoryLine[];
  flags: Flag[];
  provenance: {
    tablet_id: string; app_build: string; engine_version: string; zone: string; first_at: string; last_at: string;
  };
}
