import { Press } from "../../parts/basics";
import { Wrong } from "../../parts/fields";
import { quantityText, unitText } from "../../parts/quantity";
import { split, STEPPED, stepOf, stepped } from "../../session/settings";
import { writing } from "../../session/state";
import type { Device, Settings } from "../../session/types";
import { localNumbers, t } from "../../text";
import { settingParts } from "../facts";
import { look } from "./passes";

interface Props { settings: Settings; device: Device | null; onStep: (field: string, direction: 1 | -1) => void }

/** Plus and minus for each value of the panel; one tap is one new pass. */
export function Steps({ settings, device, onStep }: Props) {
  const names = new Map(settingParts(settings).map((p) => [p.field, p.name]));
  return (
    <section class="sheet" aria-label={t.case.settings}>
      {STEPPED.filter((f) => settings.emission[f]).map((field) => (
        <Step key={field} field={field} name={names.get(field) ?? field} settings={settings} device={device} onStep={onStep} />
      ))}
    </section>
  );
}

function Step({ field, name, settings, device, onStep }: Props & { field: string; name: string }) {
  const quantity = split(settings.emission[field]!);
  const slug = field.replace(/_/g, "-");
  const down = look(stepped(settings, field, -1), device);
  const up = look(stepped(settings, field, 1), device);
  const refused = [down.refused ? t.case.noMinus(down.refused) : null, up.refused ? t.case.noPlus(up.refused) : null].filter(Boolean).join(" ");
  return (
    <div>
      <div class="step">
        <Press id={`${slug}-minus`} large label={t.case.minus(name)} disabled={!!down.refused || !writing.value} onPress={() => onStep(field, -1)}>−</Press>
        <span><span class="name">{name}</span>
          <span class="range">{t.case.step(quantityText(`${stepOf(field, quantity)} ${quantity.unit}`))}</span>
          <span class="setting">{localNumbers(quantity.value)}<span class="unit-text"> {unitText(quantity.unit)}</span></span></span>
        <Press id={`${slug}-plus`} large label={t.case.plus(name)} disabled={!!up.refused || !writing.value} onPress={() => onStep(field, 1)}>+</Press>
      </div>
      {refused ? <Wrong id={`${slug}-refused`}>{refused}</Wrong> : null}
    </div>
  );
}
