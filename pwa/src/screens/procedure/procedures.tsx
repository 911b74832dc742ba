import { Notice } from "../../parts/basics";
import { kinds } from "../../session/house_presets";
import { may } from "../../session/rights";
import { t } from "../../text";
import { useRegisters } from "../registers";
import { AllProcedures } from "./all";
import { EditKind } from "./edit";
import { ProcedureList } from "./list";
import { AllReported } from "./reported";
import { ProcedurePage } from "./page";

/** The kinds of procedure: all of them, the page of one, changing one. */
export function Procedures({ kind_id, mode }: { kind_id: string | null; mode: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  if (kind_id === null) return <ProcedureList />;
  if (kind_id === "reported") return <AllReported />;
  const writer = may("preset.write");
  if (kind_id === "new" && writer) return <EditKind kind={null} />;
  const kind = kinds.value.find((one) => one.procedure_kind_id === kind_id);
  if (!kind) return <div class="page"><h1>{t.procedures.title}</h1><p data-testid="kind-unknown">{t.procedures.unknown}</p><AllProcedures /></div>;
  return mode === "change" && writer ? <EditKind kind={kind} /> : <ProcedurePage kind={kind} />;
}
