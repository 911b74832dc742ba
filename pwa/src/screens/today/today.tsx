import "../../styles/today.css";
import { Notice, Press } from "../../parts/basics";
import { dateText } from "../../parts/dates";
import { may } from "../../session/rights";
import { captureOnly, enrolled, openRecords, person, readingOlder, writing } from "../../session/state";
import { t } from "../../text";
import { BackupLate } from "../backups/late";
import { GroupLate } from "../group/late";
import { ListsToRead } from "../lists/to-read";
import { go } from "../route";
import { WentOn } from "../service/went";
import { UpdateOffer } from "../update";
import { Glance } from "./glance";
import { Lasers } from "./lasers";
import { OpenCases } from "./open-cases";
import { StartFromPreset } from "./start";
import { SyncState } from "./sync-state";
import { WaitingForSignature } from "./unsigned";

/** One glance: what is open, what to begin, what waits, and how the lasers are. */
export function Today() {
  const open = openRecords.value.length > 0;
  return (
    <div class="page">
      <header class="stack">
        <h1>{t.today.title}, {dateText(new Date().toISOString())}</h1>
        <p class="soft small">{t.today.hello(person.value!.display_name, enrolled.value?.location_name ?? "")}</p>
      </header>
      <UpdateOffer />
      {captureOnly.value ? <Notice calm><p>{t.records.offlinePast}</p></Notice> : null}
      {open ? null : <Glance />}
      <div class="two">
        <div class="stack">
          <OpenCases />
          {open ? <Glance /> : null}
          <Press id="new-case" kind={open ? "plain" : "main"} large={!open} wide disabled={!writing.value} onPress={() => go("plan")}>{t.today.newCase}</Press>
          <StartFromPreset />
          <WaitingForSignature />
          {readingOlder.value ? <p class="small soft" role="status" data-testid="reading-older">{t.today.readingOlder}</p> : null}
        </div>
        <div class="stack">
          {may("device.release") ? <WentOn /> : null}
          <ListsToRead />
          <Lasers />
          <SyncState />
          <BackupLate />
          <GroupLate />
        </div>
      </div>
      <p class="small soft">{t.common.caution}</p>
    </div>
  );
}
