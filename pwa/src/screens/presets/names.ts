/** What a preset and its fields are called on the screens. */
import { house, personName } from "../../session/house";
import { kindName } from "../../session/house_presets";
import { foundBy } from "../../session/presets";
import type { Preset } from "../../session/types";
import { quantityText } from "../../parts/quantity";
import { t } from "../../text";

export const nameOf = (id: string | null | undefined): string => personName(id) ?? t.common.unknownPerson;

export const laserName = (id: string): string => house.value.devices.find((d) => d.device_id === id)?.label ?? id;

export const tipName = (id: string): string => house.value.handpieces.find((h) => h.handpiece_id === id)?.label ?? id;

/** Where a preset belongs: procedure, laser and tip. */
export const placeText = (preset: Preset): string =>
  [kindName(preset.procedure_kind_id), laserName(preset.device_id), tipName(preset.handpiece_id)].filter(Boolean).join(" · ");

export const versionText = (preset: Preset): string => t.plan.presetLine(preset.version, nameOf(preset.reviewed_by));

/** The text a preset is searched in. */
export const searchText = (preset: Preset): string => foundBy(preset, [
  kindName(preset.procedure_kind_id), laserName(preset.device_id), tipName(preset.handpiece_id),
  t.plan.modes[preset.settings.emission["mode"] ?? ""],
]);

/** The name of a field of a preset. */
export function fieldName(path: string): string {
  const last = path.split(".").pop()!;
  const plan = t.plan as unknown as Record<string, unknown>;
  const own = t.presets.fields[path];
  if (own) return own;
  return typeof plan[last] === "string" ? plan[last] : t.dose.input[last] ?? last.replace(/_/g, " ");
}

/** What a field says, as people read it. */
export function fieldText(path: string, value: string | null): string {
  if (value === null) return t.presets.nothing;
  const lists: Record<string, Record<string, string>> = {
    "emission.mode": t.plan.modes, "emission.power_kind": t.plan.kinds, "spot.diameter_definition": t.plan.definitions,
    spot_known: t.plan.known, focus: t.plan.focuses, coolant: t.plan.coolants,
  };
  if (lists[path]) return lists[path][value] ?? value;
  if (path === "procedure_kind_id") return kindName(value) ?? value;
  if (path === "device_id") return laserName(value);
  if (path === "handpiece_id") return tipName(value);
  if (path === "reviewed_by") return nameOf(value);
  return path === "name" || path === "note" ? value : quantityText(value);
}
