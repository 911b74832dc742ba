import { Press } from "../../parts/basics";
import type { RecordDocument } from "../../session/fold";
import { writing } from "../../session/state";
import type { Settings } from "../../session/types";
import { t } from "../../text";
import { busy } from "../attempt";
import { settingsText } from "../facts";
import { beginPass } from "./passes";
import { earlierSettings, planOfPass } from "./plan-now";

const AT_MOST = 4;

/** Back to the settings of an earlier pass in one tap. */
export function LastSettings({ record }: { record: RecordDocument }) {
  const earlier = earlierSettings(record, AT_MOST);
  if (earlier.length === 0) return null;
  const tip = record.handpiece?.handpiece_id;
  return (
    <section class="stack" aria-label={t.course.lastSettings} data-testid="last-settings">
      <h2>{t.course.lastSettings}</h2>
      <p class="small soft">{t.course.lastSettingsHint}</p>
      {earlier.map((pass) => (
        <Press key={pass.pass_id} id={`again-${pass.number}`} large wide disabled={!writing.value || busy.value}
          onPress={() => void beginPass(record, planOfPass(record, pass))}>
          <span class="num">{settingsText(pass.settings as Settings)}
            {pass.handpiece && pass.handpiece.handpiece_id !== tip ? <span class="small"> · {pass.handpiece.label}</span> : null}
            <span class="small soft"> {t.course.fromPass(pass.number)}</span></span>
        </Press>
      ))}
    </section>
  );
}
