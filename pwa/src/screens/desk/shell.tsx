import { person, seat } from "../../session/state";
import { deskSignOut } from "../../sync/desk";
import { Press } from "../../parts/basics";
import { t } from "../../text";
import { attempt } from "../attempt";
import { href, route } from "../route";
import { Trouble } from "../trouble";
import { Queue } from "./queue";
import { DeskRecord, DeskRecords } from "./records";

/** The office browser: the queue for the chart, and records to read. */
export function DeskApp() {
  const [first = "queue", second] = route.value;
  const records = first === "records";
  const out = () => void attempt(async () => {
    await deskSignOut();
    person.value = null;
    seat.value = "door";
  });
  return (
    <>
      <header class="top"><span class="brand">{t.common.app}</span>
        <span class="row"><span data-testid="who">{person.value?.display_name}</span><Press id="desk-sign-out" onPress={out}>{t.desk.signOut}</Press></span></header>
      <Trouble />
      <main>{records && second ? <DeskRecord record_id={second} /> : records ? <DeskRecords /> : <Queue />}</main>
      <nav class="foot" aria-label={t.common.nav.label}>
        <a href={href("queue")} data-testid="nav-queue" aria-current={records ? undefined : "page"}>{t.desk.title}</a>
        <a href={href("records")} data-testid="nav-records" aria-current={records ? "page" : undefined}>{t.desk.records}</a>
      </nav>
    </>
  );
}
