import { Mark } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { CheckDrawing } from "../../parts/drawings/check-pictures";
import { todaysCheck } from "../../session/device-checks";
import { deviceChecks } from "../../session/house_checks";
import { houseZone } from "../../session/house_lists";
import type { ListItem } from "../../session/types";
import { t } from "../../text";
import { OutMark } from "../service/mark";
import { failedText, initials } from "./words";

/** What an item of a list wants beside it: a picture, or what is known of today's check of the laser. */
export function Beside({ item, device_id }: { item: ListItem; device_id: string | null }) {
  if (!item.beside) return null;
  if (item.beside !== "todays_check") return <CheckDrawing picture={item.beside} />;
  return device_id ? <KnownToday device_id={device_id} /> : null;
}

/** It says what is known and answers nothing: whoever asks looks, and answers. */
function KnownToday({ device_id }: { device_id: string }) {
  const w = t.checks.known;
  const check = todaysCheck(deviceChecks.value, device_id, "start_of_day", Date.now(), houseZone());
  const out = <OutMark device_id={device_id} id="known-out" />;
  if (!check) return <>{out}<Mark shape="wait" id="known-today">{w.notMade}</Mark></>;
  const time = timeText(check.done_at);
  return check.verdict === "passed"
    ? <>{out}<Mark shape="done" id="known-today">{w.passed(time, initials(check.checked_by))}</Mark></>
    : <>{out}<Mark shape="stop" id="known-today">{w.failed(time, failedText(check))}</Mark></>;
}
