import "../../styles/case.css";
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { house } from "../../session/house";
import { noteLast } from "../../session/atwork";
import { ownRecords, readingOlder } from "../../session/state";
import { running } from "../../session/timer";
import type { RecordDocument } from "../../session/fold";
import type { PassPlan } from "../../session/types";
import { t } from "../../text";
import { casePlan } from "../plan/drafts";
import { Photographs } from "../photographs";
import { UndoSlot, withdrawOffer } from "../undo";
import { go, href, route } from "../route";
import { keepAwake } from "./awake";
import { Correct } from "./correct";
import { HeadNumbers } from "./dose";
import { EndForm } from "./end";
import { Entries } from "./entries";
import { HandOverForm } from "./hand-over";
import { CaseHead } from "./head";
import { CaseLists } from "./lists";
import { Notes } from "./notes";
import { PauseForm } from "./pause";
import { currentPlan, lastPass } from "./plan-now";
import { Protection } from "./protection";
import { TimeOut } from "./timeout";
import { Back } from "./views";
import { Bar, Working } from "./working";

interface Props { record_id: string; view: string | null; event_id: string | null }

/** One open case. What it shows is the fold of its events and the drafts beside them. */
export function CaseScreen({ record_id, view, event_id }: Props) {
  const timeoutLater = useSignal(false);
  useEffect(() => keepAwake(), []);
  // An offer to undo belongs to its case, on whichever of its screens it is seen.
  useEffect(() => () => { if (route.value[1] !== record_id) withdrawOffer(); }, [record_id]);
  const record = ownRecords.value.find((r) => r.record_id === record_id);
  const pass = record && lastPass(record);
  useEffect(() => { if (pass) noteLast({ record_id, pass_id: pass.pass_id, number: pass.number }); }, [record_id, pass?.pass_id]);
  const kept = casePlan(record_id);
  if (!record) return <NotHere />;
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  if (record.status !== "draft" && !AFTER_THE_END.has(view ?? "")) {
    go(record.status === "ended" ? "sign" : "records", record_id);
    return null;
  }
  const device = house.value.devices.find((d) => d.device_id === record.device?.device_id) ?? null;
  const plan = currentPlan(record, device);
  const timing = running.value?.record_id === record_id;
  const asking = view === null && record.time_out === null && record.passes.length === 0 && !timeoutLater.value;
  return (
    <>
      <CaseHead record={record} plan={plan} />
      <div class="page case">
        {asking ? <TimeOut record={record} onDone={() => { timeoutLater.value = true; }} />
          : view === null ? <Working record={record} plan={plan} device={device} onTimeout={() => { timeoutLater.value = false; }} />
          : <Beside record={record} plan={plan} view={view} event_id={event_id} />}
      </div>
      {asking || (view !== null && !timing) ? null : <Bar record={record} plan={plan} />}
    </>
  );
}

/** Still being read, or a case of another tablet: only the one that opened it goes on with it. */
function NotHere() {
  return (
    <div class="page narrow">
      <p role="status" data-testid="case-not-here">{readingOlder.value ? t.common.loading : t.course.elsewhere}</p>
      <a class="button" href={href("today")}>{t.common.nav.today}</a>
    </div>
  );
}

/** What may still be done once the procedure has ended, before it is signed. */
const AFTER_THE_END: ReadonlySet<string> = new Set(["entries", "correct"]);

/** What is noted beside the passes, each on a screen of its own. */
function Beside({ record, plan, view, event_id }: { record: RecordDocument; plan: PassPlan | null; view: string; event_id: string | null }) {
  if (view === "dose") return <HeadNumbers record={record} plan={plan} />;
  if (view === "pause") return <PauseForm record={record} />;
  if (view === "hand-over") return <HandOverForm record={record} />;
  if (view === "protection") return <Protection record={record} />;
  if (view === "photographs") return <div class="stack"><Photographs record={record} adding /><Back record_id={record.record_id} /></div>;
  if (view === "lists") return <CaseLists record={record} kind={event_id} />;
  if (view === "notes") return <div class="stack narrow"><h1>{t.course.views.notes}</h1><Notes record={record} /><UndoSlot>{null}</UndoSlot><Back record_id={record.record_id} /></div>;
  if (view === "entries") return <Entries record={record} />;
  if (view === "correct" && event_id) return <Correct record={record} event_id={event_id} />;
  if (view === "end") return <EndForm record={record} onBack={() => go("case", record.record_id)} />;
  return <Back record_id={record.record_id} />;
}
