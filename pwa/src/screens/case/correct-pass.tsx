import type { PassStarted } from "../../events/catalogue";
import { Choice } from "../../parts/fields";
import { passSaid } from "../../session/commands";
import type { HistoryLine, RecordDocument } from "../../session/fold";
import { house } from "../../session/house";
import { t } from "../../text";
import { PanelValues } from "../plan/fields";
import { emptyForm, fromPass, passPlan, withHandpiece, type PlanForm } from "../plan/form";
import { judge } from "../plan/judge";
import { Frame, useForm } from "./correct-frame";
import { planOfPass } from "./plan-now";

interface Props { record: RecordDocument; line: HistoryLine; said: PassStarted }

/** A pass put right: the fields of the panel, filled with what the pass says. */
export function CorrectPass({ record, line, said }: Props) {
  const pass = record.passes.find((one) => one.event_id === line.event_id);
  const { form, set, clear } = useForm<PlanForm>(line, record, () =>
    (pass ? fromPass(emptyForm(), planOfPass(record, pass), pass.event_id) : emptyForm()));
  if (!pass) return null;
  const device = house.value.devices.find((d) => d.device_id === form.device_id) ?? null;
  const { composed, outcome, limits, errors, why } = judge(form, device);
  const next = why === null ? passSaid(record, passPlan(form, composed.settings), said.pass_id, said.number, Date.parse(pass.started_at)) : null;
  const tips = house.value.handpieces.filter((h) => h.device_id === form.device_id);
  return (
    <Frame record={record} line={line} next={next} clear={clear}>
      {tips.length > 1 ? (
        <Choice id="correct-tip" legend={t.plan.handpiece} value={form.handpiece_id} options={tips.map((h) => ({ value: h.handpiece_id, text: h.label }))}
          onChange={(id) => { const tip = tips.find((h) => h.handpiece_id === id); if (tip) set(withHandpiece(form, tip)); }} />
      ) : null}
      <PanelValues form={form} set={set} device={device} missing={composed.missing} limits={limits} errors={errors} outcome={outcome} prefix="correct" />
      {why ? <p class="small strong" role="status" data-testid="correct-why">{why}</p> : null}
    </Frame>
  );
}
