import { Glyph } from "../parts/basics";
import { may, type Right } from "../session/rights";
import { otherPlaces, seat } from "../session/state";
import { t } from "../text";
import { BackupLate } from "./backups/late";
import { GroupLate } from "./group/late";
import { href } from "./route";

/** What the house has agreed on; each page stands here for whom it concerns. */
const PAGES: readonly { page: "presets" | "procedures" | "lists" | "rooms" | "registers" | "power" | "trend" | "service" | "maintenance" | "incidents" | "checks" | "people" | "locations" | "sessions" | "tablets" | "aside" | "backup" | "group" | "erasures" | "log"; right: Right; desk?: boolean }[] = [
  { page: "presets", right: "house.read" },
  { page: "procedures", right: "house.read" },
  { page: "lists", right: "house.read" },
  { page: "rooms", right: "house.read" },
  { page: "checks", right: "house.read" },
  { page: "registers", right: "house.read" },
  { page: "power", right: "house.read" },
  { page: "trend", right: "house.read" },
  { page: "service", right: "house.read" },
  { page: "maintenance", right: "house.read" },
  { page: "incidents", right: "house.read" },
  { page: "people", right: "people.read", desk: true },
  { page: "locations", right: "location.write", desk: true },
  { page: "sessions", right: "session.end", desk: true },
  { page: "tablets", right: "tablet.write", desk: true },
  { page: "aside", right: "aside.read", desk: true },
  { page: "backup", right: "backup.read", desk: true },
  { page: "group", right: "group.read", desk: true },
  { page: "erasures", right: "retention.read", desk: true },
  { page: "log", right: "log.read", desk: true },
];

export function Practice() {
  const open = PAGES.filter(({ right, desk }) => may(right) && (!desk || seat.value === "desk"));
  return (
    <div class="page">
      <h1>{t.practice.title}</h1>
      <p class="soft">{t.practice.lead}</p>
      {seat.value === "desk" ? <BackupLate /> : null}
      {seat.value === "desk" ? <GroupLate /> : null}
      <ul class="list">{open.map(({ page }) => (
        <li key={page}><a class="item" href={href("practice", page)} data-testid={`practice-${page}`}>
          <span class="grow"><span class="strong">{t.practice.pages[page].title}</span>
            <span class="small">{t.practice.pages[page].about}</span></span><Glyph shape="turn" /></a></li>
      ))}</ul>
      {seat.value === "desk" && !may("record.read")
        ? <a class="button quiet" href={href("practice", "emergency")} data-testid="emergency-offer">{t.emergency.offer}</a> : null}
      {seat.value === "desk" && otherPlaces.value && may("emergency.elsewhere")
        ? <a class="button quiet" href={href("practice", "emergency", "elsewhere")} data-testid="emergency-elsewhere">{t.emergency.elsewhereOffer}</a> : null}
    </div>
  );
}
