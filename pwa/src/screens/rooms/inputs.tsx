import { Choice } from "../../parts/fields";
import { More, sentence } from "../../parts/dose";
import { QuantityField, quantityText } from "../../parts/quantity";
import type { HazardRequest } from "../../session/rooms";
import type { Handpiece } from "../../session/types";
import { t } from "../../text";
import type { ZoneForm } from "./zone";

interface Props { form: ZoneForm; set: (change: Partial<ZoneForm>) => void; tips: readonly Handpiece[]; request: HazardRequest; wrong?: Readonly<Record<string, readonly string[]>> }

/** What the zone is worked out from; what the register knows is shown, the rest can be chosen. */
export function ZoneInputs({ form, set, tips, request, wrong = {} }: Props) {
  const said = (path: string): string | undefined => wrong[path]?.map(sentence).join(" ");
  const emission = request["emission"] as { power: string };
  const tip = tips.find((one) => one.handpiece_id === form.handpiece_id);
  return (
    <section class="sheet">
      <h2>{t.rooms.inputs}</h2>
      <p class="small soft">{t.rooms.inputsLead}</p>
      <p class="num">{t.rooms.power}: <strong data-testid="zone-power">{quantityText(emission.power)}</strong> · {quantityText(request["wavelength"] as string)} · {t.rooms.time}: {quantityText(request["exposure_time"] as string)}</p>
      {tips.length > 1 ? <div class="no-print"><Choice id="zone-tip" legend={t.rooms.handpiece} value={form.handpiece_id ?? ""}
        options={tips.map((one) => ({ value: one.handpiece_id, text: one.label }))} onChange={(handpiece_id) => set({ handpiece_id })} /></div> : null}
      {tip ? <p class={tips.length > 1 ? "only-print" : undefined} data-testid="zone-handpiece">{t.rooms.handpiece}: <strong>{tip.label}</strong></p> : null}
      <div class="no-print"><More id="zone-more" title={t.rooms.edition}>
        <Choice id="zone-edition" legend={t.rooms.edition} across value={form.edition}
          options={[{ value: "ICNIRP 2013", text: "ICNIRP 2013" }, { value: "2006/25/EC", text: "2006/25/EC" }]} onChange={(edition) => set({ edition })} />
        <Choice id="zone-material" legend={t.rooms.material} across value={form.material}
          options={Object.entries(t.rooms.materials).map(([value, text]) => ({ value, text }))} onChange={(material) => set({ material })} />
        <Choice id="zone-factor" legend={t.rooms.factor} across value={form.factor ? "on" : "off"}
          options={Object.entries(t.rooms.factors).map(([value, text]) => ({ value, text }))} onChange={(on) => set({ factor: on === "on" })} />
        <QuantityField id="zone-divergence" label={t.rooms.divergence} hint={t.rooms.divergenceHint} typed={form.divergence}
          units={["mrad", "deg"]} wrong={said("beam.full_divergence")} onChange={(divergence) => set({ divergence })} />
        <QuantityField id="zone-beam" label={t.rooms.beam} typed={form.beam} units={["mm"]} zero wrong={said("beam.diameter")} onChange={(beam) => set({ beam })} />
      </More></div>
    </section>
  );
}
