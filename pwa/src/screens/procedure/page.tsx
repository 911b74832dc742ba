import { Mark, Notice, Press } from "../../parts/basics";
import { dateText } from "../../parts/dates";
import { presetsInForce, waitsHere } from "../../session/house_presets";
import { may } from "../../session/rights";
import { openRecords, seat, writing } from "../../session/state";
import type { Preset, ProcedureKind } from "../../session/types";
import { t } from "../../text";
import { Lines } from "../presets/choose";
import { nameOf } from "../presets/names";
import { beginCase, planWith } from "../presets/start";
import { go } from "../route";
import { AllProcedures } from "./all";
import { Reported } from "./reported";
import { UsedBefore } from "./used";

/** One kind of procedure: cautions first, its presets to begin with, notes, what was used before. */
export function ProcedurePage({ kind }: { kind: ProcedureKind }) {
  const presets = presetsInForce.value.filter((one) => one.procedure_kind_id === kind.procedure_kind_id);
  const by = t.procedures.writtenBy(nameOf(kind.listed_by), dateText(kind.listed_at));
  return (
    <div class="page">
      <header class="stack">
        <h1>{kind.text}{kind.code ? <span class="soft"> ({kind.code})</span> : null}</h1>
        {kind.retired ? <Mark shape="off" id="kind-retired">{t.procedures.isRetired}</Mark> : null}
        {waitsHere(kind.procedure_kind_id) ? <Mark shape="tablet" id="kind-waits">{t.procedures.waits}</Mark> : null}
      </header>
      {kind.cautions ? <Notice shape="warn" id="kind-cautions"><strong>{t.procedures.cautions}</strong><p class="pre">{kind.cautions}</p><p class="small soft">{by}</p></Notice> : null}
      <div class="two">
        <section class="stack" aria-label={t.procedures.presets}>
          <h2>{t.procedures.presets}</h2>
          {presets.length === 0 ? <p class="soft" data-testid="kind-no-presets">{t.procedures.noPresets}</p> : null}
          {seat.value === "tablet" && openRecords.value.length > 0 && presets.length > 0 ? <p class="small" data-testid="kind-case-open"><Mark shape="wait">{t.procedures.caseOpen}</Mark></p> : null}
          <ul class="list">{presets.map((one) => <Start key={one.preset_id} preset={one} kind={kind} />)}</ul>
          {kind.notes ? <section class="sheet" data-testid="kind-notes"><h2>{t.procedures.notes}</h2><p class="pre">{kind.notes}</p><p class="small soft">{by}</p></section> : null}
          {may("preset.write") ? <Press id="kind-change" disabled={!writing.value} onPress={() => go("practice", "procedures", kind.procedure_kind_id, "change")}>{t.procedures.change}</Press> : null}
        </section>
        <UsedBefore procedure_kind_id={kind.procedure_kind_id} />
      </div>
      <Reported names={kind.reported ?? []} />
      <p class="small soft">{t.common.caution}</p>
      <AllProcedures />
    </div>
  );
}

/** A preset with what begins from it, each in one press; a desk begins nothing. */
function Start({ preset, kind }: { preset: Preset; kind: ProcedureKind }) {
  const shut = !writing.value || openRecords.value.length > 0 || kind.retired === true;
  return (
    <li class="sheet" data-testid="kind-preset">
      <Lines preset={preset} />
      {seat.value === "tablet" && may("record.write") ? (
        <div class="row">
          <Press id="kind-begin" kind="main" label={t.procedures.begin(preset.name)} disabled={shut} onPress={() => beginCase(preset, kind.procedure_kind_id)}>{t.procedures.beginCase}</Press>
          <Press id="kind-plan" label={t.procedures.planWith(preset.name)} onPress={() => planWith(preset)}>{t.procedures.plan}</Press>
        </div>
      ) : null}
    </li>
  );
}
