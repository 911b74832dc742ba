import "../../styles/presets.css";
import { useSignal } from "@preact/signals";
import { Glyph, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { Select, TextField } from "../../parts/fields";
import { kindsOffered, withdrawalOf } from "../../session/house_presets";
import { matches, usedLast } from "../../session/presets";
import { ownRecords, person } from "../../session/state";
import type { PassPlan, Preset } from "../../session/types";
import { t } from "../../text";
import { settingsText } from "../facts";
import { OutMark } from "../service/mark";
import { placeText, searchText, versionText } from "./names";

const RECENT = 3;
const AT_FIRST = 6;

interface Props {
  /** Those in force that fit the laser. */
  presets: readonly Preset[];
  form: { preset: PassPlan["preset"] };
  onPick: (preset: Preset) => void;
  /** Keep the values and forget the preset that they came from. */
  onDrop: () => void;
}

/** One preset out of any number: the last used first, found by name, procedure, laser, tip or number. */
export function PresetChoice({ presets, form, onPick, onDrop }: Props) {
  const looking = useSignal(false);
  const picked = presets.find((p) => p.preset_id === form.preset?.preset_id);
  const withdrawn = withdrawalOf(form.preset);
  const finder = presets.length === 0
    ? <p class="small soft" data-testid="no-presets">{t.plan.noPresets}</p>
    : <Finder presets={presets} picked={picked ?? null} onPick={(preset) => { looking.value = false; onPick(preset); }} />;
  if (withdrawn) {
    return (
      <section class="stack">
        <Notice shape="stop" id="plan-preset-gone" live>
          <strong>{form.preset!.name}</strong>
          <p>{t.presets.gone(momentText(withdrawn.at), withdrawn.reason ?? "")}</p>
          <p class="small">{t.presets.goneMore}</p>
          <Press id="preset-keep-values" onPress={onDrop}>{t.presets.keepValues}</Press>
        </Notice>
        {finder}
      </section>
    );
  }
  if (!picked || looking.value) return finder;
  const newer = form.preset!.version < picked.version;
  return (
    <section class="sheet" data-testid="preset-picked" aria-label={t.presets.picked}>
      <p class="small soft">{t.presets.picked}</p>
      <Lines preset={picked} />
      {newer ? <Notice shape="warn" id="preset-newer" live><p>{t.presets.newer(picked.version)}</p>
        <Press id="preset-take-newer" onPress={() => onPick(picked)}>{t.presets.takeNewer(picked.version)}</Press></Notice> : null}
      {presets.length > 1 ? <Press id="preset-another" onPress={() => { looking.value = true; }}>{t.presets.another}</Press> : null}
    </section>
  );
}

function Finder({ presets, picked, onPick }: { presets: readonly Preset[]; picked: Preset | null; onPick: (preset: Preset) => void }) {
  const typed = useSignal("");
  const kind = useSignal("");
  const all = useSignal(false);
  const narrowed = typed.value.trim() !== "" || kind.value !== "";
  const found = presets.filter((p) => (!kind.value || p.procedure_kind_id === kind.value) && matches(searchText(p), typed.value));
  const recent = narrowed ? [] : usedLast(ownRecords.value, person.value?.person_id ?? "")
    .flatMap((id) => presets.find((p) => p.preset_id === id) ?? []).slice(0, RECENT);
  const others = found.filter((p) => !recent.includes(p));
  const shown = all.value || narrowed ? others : others.slice(0, AT_FIRST);
  const kinds = kindsOffered.value.filter((k) => presets.some((p) => p.procedure_kind_id === k.procedure_kind_id));
  const rows = (list: readonly Preset[]) => (
    <ul class="list">{list.map((p) => <Row key={p.preset_id} preset={p} picked={p === picked} onPick={onPick} />)}</ul>
  );
  return (
    <section class="stack" data-testid="presets" aria-label={t.presets.choose}>
      <h2>{t.presets.choose}</h2>
      {recent.length > 0 ? <><h3>{t.presets.recent}</h3>{rows(recent)}</> : null}
      {presets.length > RECENT ? (
        <div class="find close">
          <TextField id="preset-search" kind="search" label={t.presets.search} value={typed.value} onChange={(value) => { typed.value = value; }} max={80} />
          {kinds.length > 1 ? <Select id="preset-kind" label={t.presets.kind} value={kind.value} onChange={(value) => { kind.value = value; }}
            options={[{ value: "", text: t.presets.anyKind }, ...kinds.map((k) => ({ value: k.procedure_kind_id, text: k.text }))]} /> : null}
        </div>
      ) : null}
      {recent.length > 0 && shown.length > 0 ? <h3>{t.presets.others}</h3> : null}
      {shown.length > 0 ? rows(shown) : null}
      {narrowed ? <p class="small soft" role="status" data-testid="preset-count">{t.presets.count(found.length, presets.length)}</p> : null}
      {shown.length < others.length ? <Press id="preset-all" onPress={() => { all.value = true; }}>{t.presets.showAll(presets.length)}</Press> : null}
    </section>
  );
}

function Row({ preset, picked, onPick }: { preset: Preset; picked: boolean; onPick: (preset: Preset) => void }) {
  return (
    <li>
      <button type="button" class="item" data-testid="preset" aria-pressed={picked} onClick={() => onPick(preset)}>
        <Lines preset={preset} />{picked ? <Glyph shape="done" /> : null}
      </button>
    </li>
  );
}

/** A preset in a list: its name, its numbers, where it belongs, its version. */
export function Lines({ preset }: { preset: Preset }) {
  return (
    <span class="grow lines">
      <span class="strong">{preset.name}</span>
      <span class="small num">{settingsText(preset.settings)}</span>
      <span class="small soft">{placeText(preset)} · {versionText(preset)}</span>
      <OutMark device_id={preset.device_id} id="preset-out" />
    </span>
  );
}
