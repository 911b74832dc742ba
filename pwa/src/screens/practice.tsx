import { Glyph } from "../parts/basics";
import { may, type Right } from "../session/rights";
import { otherPlaces, seat } from "../session/state";
import { t } from "../text";
import { BackupLate } from "./backups/late";
import { GroupLate } from "./group/late";
import { href } from "./route";

type Page = keyof typeof t.practice.pages;
type Group = keyof typeof t.practice.groups;

/** What the practice keeps and looks after; each page stands here for whom it concerns. */
const PAGES: Readonly<Record<Group, readonly { page: Page; right: Right; desk?: boolean }[]>> = {
  lasers: [
    { page: "checks", right: "house.read" },
    { page: "power", right: "house.read" },
    { page: "trend", right: "house.read" },
    { page: "service", right: "house.read" },
    { page: "maintenance", right: "house.read" },
    { page: "incidents", right: "house.read" },
    { page: "registers", right: "house.read" },
    { page: "rooms", right: "house.read" },
  ],
  agreed: [
    { page: "presets", right: "house.read" },
    { page: "procedures", right: "house.read" },
    { page: "lists", right: "house.read" },
  ],
  people: [
    { page: "people", right: "people.read", desk: true },
    { page: "tablets", right: "tablet.write", desk: true },
    { page: "sessions", right: "session.end", desk: true },
    { page: "locations", right: "location.write", desk: true },
  ],
  kept: [
    { page: "aside", right: "aside.read", desk: true },
    { page: "backup", right: "backup.read", desk: true },
    { page: "group", right: "group.read", desk: true },
    { page: "erasures", right: "retention.read", desk: true },
    { page: "log", right: "log.read", desk: true },
  ],
};

export function Practice() {
  const groups = (Object.keys(PAGES) as Group[])
    .map((group) => ({ group, open: PAGES[group].filter(({ right, desk }) => may(right) && (!desk || seat.value === "desk")) }))
    .filter(({ open }) => open.length > 0);
  return (
    <div class="page">
      <h1>{t.practice.title}</h1>
      {seat.value === "desk" ? <BackupLate /> : null}
      {seat.value === "desk" ? <GroupLate /> : null}
      {groups.map(({ group, open }) => (
        <section key={group} aria-labelledby={`pages-${group}`}>
          <h2 id={`pages-${group}`}>{t.practice.groups[group]}</h2>
          <ul class="list">{open.map(({ page }) => (
            <li key={page}><a class="item" href={href("practice", page)} data-testid={`practice-${page}`}>
              <span class="grow"><span class="strong">{t.practice.pages[page].title}</span>
                <span class="small">{t.practice.pages[page].about}</span></span><Glyph shape="turn" /></a></li>
          ))}</ul>
        </section>
      ))}
      {seat.value === "desk" && !may("record.read")
        ? <a class="button quiet" href={href("practice", "emergency")} data-testid="emergency-offer">{t.emergency.offer}</a> : null}
      {seat.value === "desk" && otherPlaces.value && may("emergency.elsewhere")
        ? <a class="button quiet" href={href("practice", "emergency", "elsewhere")} data-testid="emergency-elsewhere">{t.emergency.elsewhereOffer}</a> : null}
    </div>
  );
}
