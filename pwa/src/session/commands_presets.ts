/** What may be done with presets and kinds of procedure. */
import { newId } from "../events/ids";
import { say } from "./commands_house";
import type { Preset, PresetDocument, ProcedureKind } from "./types";

export type Content = Omit<Preset, "preset_id" | "version" | "event_id" | "from_draft">;

export interface Publication {
  preset_id: string;
  /** The version that it builds on; null for the first one. */
  base: number | null;
  /** The withdrawal that is known of: naming it is what puts a preset back in force, nothing else. */
  answers: string | null;
  /** The draft whose content this is. */
  from_draft: string | null;
  /** What the group offered, of which it was made. */
  from_offer?: string | null;
  /** At a desk: the same again does it once. */
  key: string;
}

/**
 * Publish the version after `base`.
 *
 * On a tablet it counts here at once and is judged when the server has it. At a desk the server
 * decides at once: it throws with code "version_not_current" where somebody was first.
 */
export async function publishPreset({ preset_id, base, answers, from_draft, from_offer, key }: Publication, content: Content): Promise<void> {
  await say({
    type: "preset.published", entity_id: preset_id, base_version: base, corrects: answers,
    payload: { ...content, version: (base ?? 0) + 1, ...(from_draft ? { from_draft } : {}), ...(from_offer ? { from_offer } : {}) },
  }, key);
}

/** Withdraw the version that is in force, as it is seen here. */
export async function withdrawPreset(known: PresetDocument, reason: string): Promise<void> {
  await say({ type: "preset.withdrawn", entity_id: known.preset_id, base_version: known.version ?? null, payload: { reason } });
}

/** Decide against a draft; it stays in the history, and the version in force is not touched. */
export async function setPresetDraftAside(preset_id: string, draft_event_id: string, reason: string): Promise<void> {
  await say({ type: "preset.withdrawn", entity_id: preset_id, corrects: draft_event_id, payload: { reason } });
}

export type KindContent = Pick<ProcedureKind, "text" | "code"> & { notes: string | null; cautions: string | null; retired: boolean; reported?: string[] | null };

/** List a kind of procedure, or say anew what it is; answers its id. */
export async function listKind(procedure_kind_id: string | null, content: KindContent, key?: string): Promise<string> {
  const id = procedure_kind_id ?? newId();
  await say({ type: "procedure_kind.listed", entity_id: id, payload: content }, key);
  return id;
}
