/** Presets and kinds of procedure as they count here and now: the server's copy and our own entries. */
import { computed } from "@preact/signals";
import { house } from "./house";
import { lifted, withOwnEntries } from "./preset-fold";
import type { PassPlan, Preset, PresetDocument, ProcedureKind, Withdrawal } from "./types";
import { eventsOf, writtenAbout } from "./written";

const byText = (a: string | undefined, b: string | undefined): number => (a ?? "").localeCompare(b ?? "");

/** Every preset there is or was, by name. */
export const presetDocuments = computed<PresetDocument[]>(() => {
  const copies = new Map(house.value.presetDocuments.map((copy) => [copy.preset_id, copy]));
  const ids = new Set([...copies.keys(), ...writtenAbout(["preset.published", "preset.withdrawn"])]);
  return [...ids].flatMap((id) => {
    const known = withOwnEntries(copies.get(id) ?? null, eventsOf(id));
    return known ? [lifted(known)] : [];
  })
    .sort((a, b) => byText(titleOf(a), titleOf(b)));
});

/** Those that may be used. */
export const presetsInForce = computed<Preset[]>(() =>
  presetDocuments.value.filter((one) => one.status === "current") as unknown as Preset[]);

export const presetDocument = (preset_id: string): PresetDocument | null =>
  presetDocuments.value.find((one) => one.preset_id === preset_id) ?? null;

/** The withdrawal of the preset that a plan starts from, if this tablet knows of one. */
export const withdrawalOf = (preset: PassPlan["preset"]): Withdrawal | null =>
  (preset && presetDocument(preset.preset_id)?.withdrawn) ?? null;

/** Nothing begins from a withdrawn preset; in a case that used it already, what happens is written down. */
export const barred = (preset: PassPlan["preset"], passes: readonly { preset: PassPlan["preset"] }[]): boolean =>
  withdrawalOf(preset) !== null && !passes.some((pass) => pass.preset?.preset_id === preset!.preset_id);

/** The name of the version in force, else of the newest draft. */
export const titleOf = (one: PresetDocument): string => one.name ?? one.drafts[one.drafts.length - 1]?.name ?? one.preset_id;

/** Every kind of procedure, retired ones too, by name; of two that say something of one kind the later one counts. */
export const kinds = computed<ProcedureKind[]>(() => {
  const found = new Map(house.value.kinds.map((kind) => [kind.procedure_kind_id, kind]));
  for (const id of writtenAbout(["procedure_kind.listed"])) {
    for (const { event_id, body, payload, state, result } of eventsOf(id)) {
      const outcome = (result as { outcome?: string } | null)?.outcome;
      if (outcome != null && outcome !== "applied" && outcome !== "duplicate") continue;
      // One that was answered is in the server's copy, or has been followed by somebody else's.
      if (state === "settled" && found.has(id)) continue;
      found.set(id, {
        ...(payload as unknown as ProcedureKind), procedure_kind_id: id, event_id, listed_at: body.occurred_at, listed_by: body.actor_id,
      });
    }
  }
  return [...found.values()].sort((a, b) => byText(a.text, b.text));
});

export const kindsOffered = computed(() => kinds.value.filter((kind) => !kind.retired));

export const kindName = (id: string | null | undefined): string | null =>
  kinds.value.find((kind) => kind.procedure_kind_id === id)?.text ?? null;

/** Of something written here: not yet on the server. */
export const waitsHere = (entity_id: string): boolean => eventsOf(entity_id).some((event) => event.state === "waiting");

/** What the server did not take of what was written here about it. */
export const refusedHere = (entity_id: string): string | null => {
  for (const event of eventsOf(entity_id)) {
    const result = event.result as { outcome?: string; reason?: string } | null;
    if (result?.outcome === "quarantined") return result.reason ?? result.outcome;
  }
  return null;
};
