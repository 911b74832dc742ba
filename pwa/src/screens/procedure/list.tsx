import { Glyph, Mark, Press } from "../../parts/basics";
import { More } from "../../parts/dose";
import { kinds, presetsInForce, waitsHere } from "../../session/house_presets";
import { may } from "../../session/rights";
import { writing } from "../../session/state";
import type { ProcedureKind } from "../../session/types";
import { t } from "../../text";
import { go, href } from "../route";

export function ProcedureList() {
  const offered = kinds.value.filter((kind) => !kind.retired);
  const retired = kinds.value.filter((kind) => kind.retired);
  return (
    <div class="page">
      <h1>{t.procedures.title}</h1>
      <p class="soft">{t.procedures.lead}</p>
      {may("preset.write") ? <div class="row"><Press id="kind-new" kind="main" disabled={!writing.value} onPress={() => go("practice", "procedures", "new")}>{t.procedures.add}</Press></div> : null}
      {kinds.value.length === 0 ? <p data-testid="kinds-none">{t.procedures.none}</p> : <Rows list={offered} />}
      {retired.length > 0 ? <More id="kinds-retired" title={t.procedures.retired}><Rows list={retired} /></More> : null}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

function Rows({ list }: { list: readonly ProcedureKind[] }) {
  return (
    <ul class="list">{list.map((kind) => (
      <li key={kind.procedure_kind_id}>
        <a class="item" href={href("practice", "procedures", kind.procedure_kind_id)} data-testid="kind-row">
          <span class="grow">
            <span class="strong">{kind.text}{kind.code ? <span class="soft"> ({kind.code})</span> : null}</span>
            <span class="small">{t.procedures.presetCount(presetsInForce.value.filter((one) => one.procedure_kind_id === kind.procedure_kind_id).length)}</span>
            {kind.cautions ? <Mark shape="warn">{t.procedures.cautions}</Mark> : null}
            {waitsHere(kind.procedure_kind_id) ? <Mark shape="tablet">{t.procedures.waits}</Mark> : null}
          </span>
          <Glyph shape="turn" />
        </a>
      </li>
    ))}</ul>
  );
}
