/** What one entry says, in a line. */
import type {
  LaserEmitted, ListAnswered, OperatorAccepted, PassStarted, ProcedureEnded, ProcedureHandedOver, ProcedureOpened, ProtectionNoted, ServiceOverridden, TimeoutAnswered,
} from "../../events/catalogue";
import { quantityText } from "../../parts/quantity";
import { payloadOf } from "../../session/commands_case";
import type { HistoryLine, RecordDocument } from "../../session/fold";
import { personName } from "../../session/house";
import type { Settings } from "../../session/types";
import { t } from "../../text";
import { settingsText } from "../facts";

const who = (id: string): string => personName(id) ?? t.common.unknownPerson;

/** A line for a person; of an entry made elsewhere only its kind is known here. */
export function entryText(record: RecordDocument, line: HistoryLine): string {
  const payload = payloadOf<object>(record.record_id, line.event_id);
  const kind = (t.records.types as Record<string, string>)[line.type] ?? line.type;
  return payload === null ? kind : TEXTS[line.type]?.(payload as never, record) ?? kind;
}

type Text = (said: never, record: RecordDocument) => string;

const answersText = (said: TimeoutAnswered): string =>
  t.course.says.list(said.title, said.answers.filter((one) => one.answer === "yes").length, said.answers.length);

const TEXTS: Readonly<Record<string, Text>> = {
  "procedure.opened": (said: ProcedureOpened) => t.course.says.opened(
    `${said.patient.chart_number} ${said.patient.second_identifier}`, said.procedure.text, said.site),
  "timeout.answered": answersText,
  "list.answered": (said: ListAnswered) => answersText(said),
  "pass.started": (said: PassStarted, record) => {
    const tip = said.handpiece && said.handpiece.handpiece_id !== record.handpiece?.handpiece_id ? ` · ${said.handpiece.label}` : "";
    return t.course.says.pass(said.number, settingsText(said.settings as Settings) + tip);
  },
  "laser.emitted": (said: LaserEmitted) => t.course.says.time(
    quantityText(said.laser_on_time), (t.case.sources[said.source] ?? said.source).toLowerCase(),
    said.pulses === null ? "" : t.course.says.pulses(said.pulses)),
  "procedure.noted": (said: { text: string }) => t.course.says.noted(said.text),
  "procedure.paused": (said: { reason: string | null }) => t.course.says.paused(said.reason ?? ""),
  "procedure.resumed": () => t.course.says.resumed,
  "procedure.handed_over": (said: ProcedureHandedOver) =>
    t.course.handOver.text(t.course.handOver.roles[said.role] ?? said.role, who(said.from_id), who(said.to_id)) + (said.note ? `. ${said.note}` : ""),
  "operator.accepted": (said: OperatorAccepted) => `${who(said.operator_id)}: ${said.reason}`,
  "service.overridden": (said: ServiceOverridden) => `${said.causes.map((one) => one.text).join("; ")}. ${said.reason}`,
  "protection.noted": (said: ProtectionNoted) => t.course.protection.text(said.heads, said.eyewear.length),
  "attachment.added": (said: { caption: string | null }) => t.course.says.photograph(said.caption ?? ""),
  "procedure.ended": (said: ProcedureEnded) => t.course.says.ended(
    Object.entries(said.outcome).filter(([, text]) => text).map(([name, text]) => `${(t.case as unknown as Record<string, string>)[name] ?? name}: ${text}`).join("; ")),
};
