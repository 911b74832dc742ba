/** What a group rolls out, and what a practice was offered: online only, at a desk, nothing kept. */
import { askJson } from "./client";
import type { ListItem, Preset, Settings } from "../session/types";

export interface OfferedList { kind: string; title: string; items: ListItem[]; needs_acknowledgement?: boolean | null; within_s?: number | null }

interface Subject {
  kind: "list" | "preset";
  source_id: string;
  version: number;
  title: string;
  list: OfferedList | null;
  effective_from: string | null;
  note: string | null;
  made_at: string;
}

export type OfferState = "open" | "taken" | "declined" | "replaced";

/** An offer of the group, and what it would come to at this location. */
export interface Offer extends Subject {
  offer_id: string;
  made_by: string;
  group_name: string;
  group_key: string;
  received_at: string;
  state: OfferState;
  answered: { at: string; reason: string | null; version: number | null; subject_id: string | null } | null;
  answered_by_name: string | null;
  /** Of a preset: as a file of presets has it. */
  row: Record<string, string> | null;
  /** What it would be the next version of. */
  subject_id: string | null;
  settings: Settings | null;
  /** Its content for this location's own laser and tip; null where `errors` say what stands against it. */
  preset: Omit<Preset, "preset_id" | "version"> | null;
  errors: Record<string, string[]>;
}

export interface RolloutPlace {
  location_id: string; name: string; state: OfferState | null;
  at: string | null; by: string | null; reason: string | null; version: number | null;
}
export interface Rollout extends Subject {
  rollout_id: string;
  made_by_name: string | null;
  to_all: boolean;
  practices: { practice_id: string; name: string; places: RolloutPlace[] }[];
}
export interface Rollouts { rollouts: Rollout[]; practices: { practice_id: string; name: string }[] }

export const askOffers = async (): Promise<Offer[]> => (await askJson<{ offers: Offer[] }>("offers")).offers;

export const askRollouts = (): Promise<Rollouts> => askJson<Rollouts>("rollouts");

export interface NewRollout { kind: "list" | "preset"; source_id: string; practices: string[] | null; effective_from: string | null; note: string | null }

/** Roll out the version that is in force here; the same key again does it once. */
export async function rollOut(said: NewRollout, key: string): Promise<void> {
  await askJson<object>("rollouts", { body: said, headers: { "Idempotency-Key": key } });
}
