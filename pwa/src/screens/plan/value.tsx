import { useSignal } from "@preact/signals";
import { sentence } from "../../parts/dose";
import type { Typed } from "../../parts/number";
import { QuantityField } from "../../parts/quantity";
import { doseOf, refusals } from "../../session/dosing";
import type { Device, Settings } from "../../session/types";
import { t } from "../../text";
import { compose, type PlanForm } from "./form";
import { SPOT_FIELDS } from "./spot-form";
import { stepping, UNITS, valueOf, type ValueName, ZERO } from "./values";

/** Whoever changes one of these no longer has the spot of the label. */
const OF_SPOT: ReadonlySet<ValueName> = new Set(Object.values(SPOT_FIELDS).flatMap(({ needed, optional }) => [...needed, ...optional]));

export interface ValueProps {
  form: PlanForm;
  set: (form: PlanForm) => void;
  device: Device | null;
  missing: Record<string, string>;
  limits: Record<string, string>;
  errors: Record<string, string>;
  /** Set before the field's own name where two forms stand on one screen. */
  prefix?: string;
}

/** One value of the plan: plus, minus, keys, and what is the matter with it. */
export function Value(props: ValueProps & { name: ValueName }) {
  const { name, form, set, device, missing, limits, errors } = props;
  const refused = useSignal<string | null>(null);
  const label = (t.plan as unknown as Record<string, string>)[name]!;
  const wrong = limits[name] ?? errors[name] ?? (missing[name] || undefined);
  const typed = valueOf(form, name);
  // A field still empty is not an error while somebody is on the way to it.
  const empty = typed.raw.trim() === "";
  const change = (to: Typed): PlanForm =>
    ({ ...form, values: { ...form.values, [name]: to }, spot_known: OF_SPOT.has(name) ? "estimated" : form.spot_known });
  const take = (next: PlanForm) => { refused.value = null; set(next); };
  const steps = stepping(form, name);
  const step = (raw: string | null, say: (why: string) => string) => {
    if (steps === null || raw === null) return null;
    return () => {
      const next = change({ raw, unit: steps.unit, sure: true });
      const why = against(form, next, device);
      if (why === null) take(next);
      else refused.value = say(why);
    };
  };
  return (
    <QuantityField id={`${props.prefix ?? "plan"}-${name.replace(/_/g, "-")}`} label={label} typed={typed} units={UNITS[name]}
      zero={ZERO.has(name)} wrong={empty ? undefined : wrong} hint={name === "speed" ? t.plan.speedHint : t.plan.spotHints[name]}
      onChange={(to) => take(change(to))}
      steps={steps ? {
        by: `${steps.by} ${steps.unit}`.trim(), refused: refused.value ?? undefined,
        less: step(steps.less, t.entry.noMinus), more: step(steps.more, t.entry.noPlus),
      } : undefined} />
  );
}

/** What the laser's limits or the physics say to a step that they did not say before it. */
function against(before: PlanForm, after: PlanForm, device: Device | null): string | null {
  const old = objections(compose(before, device).settings, device);
  const fresh = Object.entries(objections(compose(after, device).settings, device)).find(([path]) => !(path in old));
  return fresh ? sentence(fresh[1]) : null;
}

function objections(settings: Settings, device: Device | null): Record<string, string> {
  const outcome = doseOf(settings);
  if (!outcome.ok) return Object.fromEntries(Object.entries(outcome.errors).map(([path, said]) => [path, said.join(" ")]));
  return device ? refusals(settings, device) : {};
}
