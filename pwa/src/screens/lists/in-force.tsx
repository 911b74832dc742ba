import { Mark } from "../../parts/basics";
import { houseZone } from "../../session/house_lists";
import { inForce, upcoming } from "../../session/lists";
import type { ListDocument } from "../../session/types";
import { t } from "../../text";
import { dayText } from "./show";

/** Which version counts now, and which one will. */
export function InForceLine({ list }: { list: ListDocument }) {
  const now = Date.now();
  const version = inForce(list, now, houseZone());
  return (
    <span class="stack">
      {version
        ? <Mark shape="done" id="list-in-force">{version.effective_from ? t.lists.inForceSince(version.version, dayText(version.effective_from)) : t.lists.inForceNow(version.version)}, {t.lists.items(version.items.length)}</Mark>
        : <Mark shape="warn" id="list-in-force">{t.lists.nothingInForce}</Mark>}
      {upcoming(list, now, houseZone()).map((one) => (
        <Mark key={one.version} shape="wait" id="list-coming">{t.lists.comingOn(one.version, dayText(one.effective_from!))}, {t.lists.items(one.items.length)}</Mark>
      ))}
    </span>
  );
}
