/** The record document: what the fold of one procedure's events comes to. */

import type { PassStarted, ProcedureEnded, ProcedureOpened, TimeoutAnswered } from "../events/catalogue";
import type { Flag } from "./order";
import type { PassDose } from "./passdose";

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
}

type Opening = { [Name in keyof Omit<ProcedureOpened, "assistant_ids">]: ProcedureOpened[Name] | null };

export interface RecordDocument extends Opening {
  record_id: string;
  location_id: string;
  status: "draft" | "ended" | "signed" | "amended";
  version: number;
  assistant_ids: string[];
  ended_at: string | null;
  time_out: null | (TimeoutAnswered & { completed_at: string });
  passes: RecordPass[];
  notes: { text: string; at: string; by: string | null; event_id: string }[];
  outcome: ProcedureEnded["outcome"] | null;
  sign_off: null | {
    signer_id: string; role: string; at: string; content_hash: string; event_id: string; statement: string;
  };
  addenda: { text: string; reason: string; at: string; by: string | null; event_id: string }[];
  chart: null | { how: string; note: string | null; at: string; by: string | null; event_id: string };
  history: HistoryLine[];
  flags: Flag[];
  provenance: {
    tablet_id: string; app_build: string; engine_version: string; zone: string; first_at: string; last_at: string;
  };
}
