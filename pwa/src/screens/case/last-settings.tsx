import { Press } from "../../parts/basics";
import type { RecordDocument, RecordPass } from "../../session/fold";
import { writing } from "../../session/state";
import type { Settings } from "../../session/types";
import { t } from "../../text";
import { busy } from "../attempt";
import { settingsText } from "../facts";
import { beginPass } from "./passes";
import { earlierSettings, lastPass, planOfPass } from "./plan-now";

const AT_MOST = 4;

/** Back to the settings of an earlier pass in one tap. */
export function LastSettings({ record }: { record: RecordDocument }) {
  const earlier = earlierSettings(record, AT_MOST);
  if (earlier.length === 0) return null;
  const tipOf = (pass: RecordPass | undefined) => pass?.handpiece ?? record.handpiece;
  const now = tipOf(lastPass(record))?.handpiece_id;
  return (
    <section class="stack" aria-label={t.course.lastSettings} data-testid="last-settings">
      <h2>{t.course.lastSettings}</h2>
      <p class="small soft">{t.course.lastSettingsHint}</p>
      {earlier.map((pass) => (
        <Press key={pass.pass_id} id={`again-${pass.number}`} large wide disabled={!writing.value || busy.value}
          onPress={() => void beginPass(record, planOfPass(record, pass))}>
          <span class="num">{settingsText(pass.settings as Settings)}
            {tipOf(pass)?.handpiece_id !== now ? <span class="small"> · {tipOf(pass)?.label}</span> : null}
            <span class="small soft"> {t.course.fromPass(pass.number)}</span></span>
        </Press>
      ))}
    </section>
  );
}
