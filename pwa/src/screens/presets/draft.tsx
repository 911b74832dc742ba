import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { publishPreset, setPresetDraftAside } from "../../session/commands_presets";
import { may } from "../../session/rights";
import { person, writing } from "../../session/state";
import type { Preset, PresetDocument, PresetDraft } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { judge } from "../plan/judge";
import { go } from "../route";
import { AllPresets } from "./all";
import { contentOf, formFrom, wrongName } from "./edit-form";
import { nameOf } from "./names";
import { SideBySide } from "./side";
import { laserOf } from "./start";

/** Two versions were built on one: both side by side, and the decision. */
export function DraftScreen({ known, draft }: { known: PresetDocument; draft: PresetDraft }) {
  const asking = useSignal(false);
  const reason = useSignal("");
  const form = useSignal(formFrom(known, draft, draft.event_id));
  const base = known.version ?? null;
  // The version in force may change while both are looked at: publishing follows what is shown.
  const publication = { ...form.value, base, answers: known.withdrawn?.event_id ?? null };
  const judged = judge(publication.plan, laserOf(draft));
  const why = judged.why ?? wrongName(publication);
  const back = () => go("practice", "presets", known.preset_id);
  const publish = () => void attempt(() => publishPreset(publication, { ...contentOf(publication, judged.composed), reviewed_by: person.value!.person_id }))
    .then((done) => { if (done) back(); });
  const aside = () => void attempt(() => setPresetDraftAside(known.preset_id, draft.event_id, reason.value.trim())).then((done) => { if (done) back(); });
  const title = base === null ? t.presets.noCurrent : known.withdrawn ? t.presets.currentWithdrawn(base) : t.presets.current(base);
  return (
    <div class="page">
      <h1>{t.presets.draftTitle(draft.name)}</h1>
      <p>{known.withdrawn ? t.presets.draftOnWithdrawn : t.presets.draftWhy}</p>
      <p class="small soft">{t.presets.draftOf(nameOf(draft.published_by), momentText(draft.published_at), draft.base_version === null ? t.presets.onNothing : t.presets.onVersion(draft.base_version))}</p>
      <SideBySide left={known as Partial<Preset>} right={draft} leftTitle={title} rightTitle={t.presets.draft} />
      {may("preset.write") ? (
        <div class="stack">
          {why ? <Notice shape="warn" id="draft-cannot"><p>{t.presets.cannot(why)}</p></Notice> : null}
          <div class="row">
            <Press id="draft-publish" kind="main" disabled={why !== null || busy.value || !writing.value} onPress={publish}>{t.presets.publishDraft((base ?? 0) + 1)}</Press>
            <Press id="draft-change" disabled={!writing.value} onPress={() => go("practice", "presets", known.preset_id, "change", draft.event_id)}>{t.presets.changeDraft}</Press>
            <Press id="draft-aside" kind="quiet" pressed={asking.value} onPress={() => { asking.value = !asking.value; }}>{t.presets.setAside}</Press>
          </div>
          {asking.value ? (
            <div class="sheet" data-testid="draft-setting-aside">
              <p class="small">{t.presets.setAsideMore}</p>
              <TextField id="aside-reason" label={t.presets.reason} value={reason.value} onChange={(text) => { reason.value = text; }} max={1000} spell focus />
              <Press id="aside-go" kind="main" disabled={!reason.value.trim() || busy.value || !writing.value} onPress={aside}>{t.presets.setAsideNow}</Press>
            </div>
          ) : null}
        </div>
      ) : null}
      <AllPresets />
    </div>
  );
}
