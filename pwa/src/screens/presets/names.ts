/** The names a preset goes by on the screens. */
import { house, personName } from "../../session/house";
import { foundBy } from "../../session/presets";
import type { Preset } from "../../session/types";
import { t } from "../../text";

export const kindName = (id: string | null | undefined): string | null =>
  house.value.kinds.find((k) => k.procedure_kind_id === id)?.text ?? null;

export const laserName = (id: string): string => house.value.devices.find((d) => d.device_id === id)?.label ?? id;

export const tipName = (id: string): string => house.value.handpieces.find((h) => h.handpiece_id === id)?.label ?? id;

/** Where a preset belongs: procedure, laser and tip. */
export const placeText = (preset: Preset): string =>
  [kindName(preset.procedure_kind_id), laserName(preset.device_id), tipName(preset.handpiece_id)].filter(Boolean).join(" · ");

export const versionText = (preset: Preset): string =>
  t.plan.presetLine(preset.version, personName(preset.reviewed_by) ?? t.common.unknownPerson);

/** The text a preset is searched in. */
export const searchText = (preset: Preset): string => foundBy(preset, [
  kindName(preset.procedure_kind_id), laserName(preset.device_id), tipName(preset.handpiece_id),
  t.plan.modes[preset.settings.emission["mode"] ?? ""],
]);
