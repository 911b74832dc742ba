/** The inputs of a setting by name, as they stand in the request and as a person reads them. */
import { quantityText } from "../../parts/quantity";
import type { Settings } from "../../session/types";
import { t } from "../../text";

/** Every input of `settings`: "spot" is its diameter where it is stated by one. */
export function inputsOf(settings: Settings): Record<string, string> {
  const { diameter, ...optics } = settings.spot ?? {};
  return {
    ...settings.emission, ...(diameter === undefined ? {} : { spot: diameter }), ...optics,
    ...(settings.motion?.["speed"] ? { speed: settings.motion["speed"] } : {}),
  };
}

export function inputName(name: string): string {
  const labels: Record<string, unknown> = { ...(t.plan as unknown as Record<string, unknown>) };
  if (name === "diameter_definition") return t.plan.definition;
  const own = t.dose.input[name] ?? labels[name];
  return typeof own === "string" ? own : name;
}

const CHOICES: Readonly<Record<string, () => Readonly<Record<string, string>>>> = {
  mode: () => t.plan.modes, power_kind: () => t.plan.kinds, diameter_definition: () => t.plan.definitions,
};

export const inputText = (name: string, text: string): string => CHOICES[name]?.()[text] ?? quantityText(text);
