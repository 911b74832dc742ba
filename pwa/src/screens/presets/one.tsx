import { useSignal } from "@preact/signals";
import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { TextField } from "../../parts/fields";
import { withdrawPreset } from "../../session/commands_presets";
import { presetsInForce, titleOf } from "../../session/house_presets";
import { compared } from "../../session/presets";
import { may } from "../../session/rights";
import { seat, writing } from "../../session/state";
import type { PresetDocument, PresetVersion } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { settingsText } from "../facts";
import { go, href } from "../route";
import { AllPresets } from "./all";
import { editing } from "./edit-form";
import { StateOf } from "./list";
import { fieldName, fieldText, nameOf, placeText } from "./names";
import { OutMark } from "../service/mark";
import { planWith } from "./start";

/** One preset: what it says, what waits for a decision, what it was before. */
export function OnePreset({ known }: { known: PresetDocument }) {
  const inForce = known.version != null ? known as unknown as PresetVersion : null;
  const writer = may("preset.write");
  const usable = presetsInForce.value.find((one) => one.preset_id === known.preset_id);
  return (
    <div class="page">
      <header class="stack">
        <h1>{titleOf(known)}</h1>
        <p data-testid="preset-version">{known.status === "current" ? t.presets.inForceVersion(known.version!) : known.status === "withdrawn" && known.withdrawn
          ? t.presets.withdrawnBy(nameOf(known.withdrawn.by), momentText(known.withdrawn.at), known.withdrawn.reason ?? "") : t.presets.neverInForce}</p>
        <StateOf known={known} />
        {known.device_id ? <OutMark device_id={known.device_id} id="preset-out" /> : null}
      </header>
      {known.drafts.map((one) => (
        <Notice key={one.event_id} shape="warn" id="preset-draft">
          <strong>{t.presets.draftTitle(one.name)}</strong>
          <p class="small">{known.withdrawn ? t.presets.draftOnWithdrawn : t.presets.draftWhy}</p>
          <p class="small soft">{t.presets.draftOf(nameOf(one.published_by), momentText(one.published_at), one.base_version === null ? t.presets.onNothing : t.presets.onVersion(one.base_version))}</p>
          <a class="button" href={href("practice", "presets", known.preset_id, "draft", one.event_id)} data-testid="preset-draft-open">{t.presets.lookAtBoth}</a>
        </Notice>
      ))}
      <div class="two">
        <section class="stack">
          {inForce ? <Values version={inForce} /> : null}
          {usable && seat.value === "tablet" && may("record.write") ? <Press id="preset-use" kind="main" large wide onPress={() => planWith(usable)}>{t.presets.use}</Press> : null}
          {writer ? <Change known={known} /> : null}
        </section>
        <section class="stack"><h2>{t.presets.history}</h2><History known={known} /></section>
      </div>
      <AllPresets />
    </div>
  );
}

function Values({ version }: { version: PresetVersion }) {
  return (
    <div class="sheet" data-testid="preset-values">
      <p class="strong num">{settingsText(version.settings)}</p>
      <p class="small">{placeText(version)}</p>
      {version.note ? <p class="small pre">{version.note}</p> : null}
      <p class="small soft">{t.presets.reviewed(nameOf(version.reviewed_by))}. {t.presets.published(nameOf(version.published_by), momentText(version.published_at))}.</p>
      <More id="preset-fields" title={t.presets.fieldsAll}>
        <dl class="facts">{compared(version, version).map(({ path, left }) => [<dt key={path}>{fieldName(path)}</dt>, <dd key={`${path}-value`} class="small num">{fieldText(path, left)}</dd>])}</dl>
      </More>
    </div>
  );
}

/** Changing and withdrawing: withdrawing takes two steps. */
function Change({ known }: { known: PresetDocument }) {
  const asking = useSignal(false);
  const reason = useSignal("");
  const withdraw = () => void attempt(() => withdrawPreset(known, reason.value.trim())).then((done) => { if (done) asking.value = false; });
  const begun = editing(known.preset_id).value.value !== null;
  return (
    <>
      {known.version != null ? (
        <Press id="preset-change" disabled={!writing.value} onPress={() => go("practice", "presets", known.preset_id, "change")}>
          {begun ? t.presets.goOnChanging : known.withdrawn ? t.presets.restore : t.presets.change}</Press>
      ) : null}
      {known.status === "current" ? <Press id="preset-withdraw" kind="quiet" pressed={asking.value} onPress={() => { asking.value = !asking.value; }}>{t.presets.withdraw}</Press> : null}
      {known.status === "current" && asking.value ? (
        <div class="sheet" data-testid="preset-withdrawing">
          <p class="small">{t.presets.withdrawMore}</p>
          <TextField id="withdraw-reason" label={t.presets.reason} value={reason.value} onChange={(text) => { reason.value = text; }} max={1000} spell focus />
          <Press id="withdraw-go" kind="main" disabled={!reason.value.trim() || busy.value || !writing.value} onPress={withdraw}>{t.presets.withdrawNow(known.version!)}</Press>
        </div>
      ) : null}
    </>
  );
}

/** Every version with what it changed and who answers for it, the newest first; withdrawals in between. */
function History({ known }: { known: PresetDocument }) {
  const lines = [
    ...known.versions.map((version, i) => ({ at: version.published_at, key: version.event_id, shown: <Version version={version} before={known.versions[i - 1]} open={i === known.versions.length - 1} /> })),
    ...known.withdrawals.map((one) => ({ at: one.at, key: one.event_id, shown: (
      <p class="small" data-testid="preset-withdrawal"><Mark shape="stop">{t.presets.withdrawnVersion(one.version ?? "", nameOf(one.by), momentText(one.at), one.reason ?? "")}</Mark></p>) })),
    ...known.set_aside.map((one) => ({ at: one.set_aside.at, key: one.event_id, shown: (
      <div class="stack" data-testid="preset-set-aside"><p class="small"><Mark shape="off">{t.presets.setAsideBy(nameOf(one.set_aside.by), momentText(one.set_aside.at), one.set_aside.reason ?? "")}</Mark></p>
        <p class="small soft num">{one.name}: {settingsText(one.settings)}</p></div>) })),
  ];
  lines.sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  return <ol class="stack">{lines.map((line) => <li key={line.key}>{line.shown}</li>)}</ol>;
}

function Version({ version, before, open }: { version: PresetVersion; before: PresetVersion | undefined; open: boolean }) {
  const changed = before ? compared(before, version).filter((one) => one.differs) : [];
  return (
    <More id={`preset-version-${version.version}`} title={`${t.presets.version(version.version)}: ${settingsText(version.settings)}`} open={open}>
      <p class="small soft">{t.presets.published(nameOf(version.published_by), momentText(version.published_at))}{version.from_draft ? `, ${t.presets.fromDraft}` : ""}. {t.presets.reviewed(nameOf(version.reviewed_by))}.</p>
      {before === undefined ? <p class="small">{t.presets.first}</p> : changed.length === 0 ? <p class="small">{t.presets.noChanges}</p> : (
        <dl class="facts" aria-label={t.presets.changes}>{changed.map(({ path, left, right }) => [
          <dt key={path}>{fieldName(path)}</dt>,
          <dd key={`${path}-change`} class="small num">{fieldText(path, left)} <Glyph shape="turn" /> <span class="hidden-text">{t.presets.becomes}</span> <strong>{fieldText(path, right)}</strong></dd>,
        ])}</dl>
      )}
    </More>
  );
}
