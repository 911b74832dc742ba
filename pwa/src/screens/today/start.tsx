import { Glyph } from "../../parts/basics";
import { house } from "../../session/house";
import { presetsInForce } from "../../session/house_presets";
import { usedLast } from "../../session/presets";
import { ownRecords, person, writing } from "../../session/state";
import type { Preset } from "../../session/types";
import { t } from "../../text";
import { settingsText } from "../facts";
import { planDraft } from "../plan/drafts";
import { emptyForm, fromPreset } from "../plan/form";
import { go, href } from "../route";

const AT_MOST = 3;
/** Who has not used a preset in so many cases would look for it anyway. */
const LOOKED_AT = 100;

/** The presets this person used last: one tap fills the plan with one, and its dose is seen before it is used. */
export function StartFromPreset() {
  const recent = usedLast(ownRecords.value.slice(0, LOOKED_AT), person.value?.person_id ?? "")
    .flatMap((id) => presetsInForce.value.find((p) => p.preset_id === id) ?? []).slice(0, AT_MOST);
  const start = (preset: Preset) => {
    planDraft(null).set(fromPreset(emptyForm(), preset, house.value.handpieces.find((h) => h.handpiece_id === preset.handpiece_id)));
    go("plan");
  };
  return (
    <section class="stack" aria-label={t.today.startFrom}>
      {recent.length > 0 ? <h2>{t.today.startFrom}</h2> : null}
      <ul class="list">
        {recent.map((preset) => (
          <li key={preset.preset_id}>
            <button type="button" class="item" data-testid="start-preset" disabled={!writing.value} onClick={() => start(preset)}>
              <span class="grow"><span class="strong">{preset.name}</span><span class="small num">{settingsText(preset.settings)}</span></span><Glyph shape="turn" /></button>
          </li>
        ))}
        <li><a class="item" href={href("practice", "procedures")} data-testid="start-procedure"><span class="grow strong">{t.today.startProcedure}</span><Glyph shape="turn" /></a></li>
      </ul>
    </section>
  );
}
