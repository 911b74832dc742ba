import { Notice } from "../../parts/basics";
import { may } from "../../session/rights";
import { REGISTERS, things, type PowerMeter, type RegisterKind } from "../../session/registers";
import { t } from "../../text";
import { useRegisters } from "../registers";
import { go } from "../route";
import { DueRules } from "./due-rules";
import { FORMS } from "./fields";
import { RegisterForm } from "./form";
import { InventorySheet } from "./inventory";
import { Labels } from "./labels";
import { Register } from "./list";
import { OneThing } from "./one";
import { Overview } from "./overview";

interface Props { kind: string | null; id: string | null; mode: string | null }

/** The registers: all of them, one, a thing in it, or writing about it. */
export function Registers({ kind, id, mode }: Props) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  if (kind === "inventory") return <InventorySheet />;
  if (kind === "labels") return <Labels only={id} />;
  if (kind === "due") return <DueRules what={id} />;
  const of = REGISTERS.find((one) => one === kind);
  if (!of) return <Overview />;
  const found = things(of).find((one) => one.id === id);
  if (may("device.write") && (id === "new" || (found && mode === "change"))) return <Editor key={id} kind={of} id={found?.id ?? null} from={found?.thing ?? null} />;
  return found ? <OneThing key={found.id} kind={of} id={found.id} thing={found.thing} mode={mode} /> : <Register kind={of} />;
}

function Editor({ kind, id, from }: { kind: RegisterKind; id: string | null; from: object | null }) {
  const w = t.registers;
  const label = (from as { label?: string } | null)?.label;
  return (
    <RegisterForm name={`${kind}:${id ?? "new"}`} title={label ? w.changeOne(label) : w.kinds[kind].add} lead={w.kinds[kind].lead} type={`${kind}.registered`} entity_id={id}
      sections={FORMS[kind]} from={from} {...(kind === "meter" ? { papers: (from as PowerMeter | null)?.certificates ?? [] } : {})} save={w.save} done={() => (id ? go("practice", "registers", kind, id) : go("practice", "registers", kind))} />
  );
}
