import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Glyph, Mark, Notice, type Shape } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { may } from "../../session/rights";
import { seat } from "../../session/state";
import { askOffers, type Offer, type OfferState } from "../../sync/rollouts";
import { t } from "../../text";
import { href } from "../route";

export const STATE_SHAPES: Readonly<Record<OfferState, Shape>> = { open: "wait", taken: "done", declined: "off", replaced: "off" };

/** What the group offers this location, the open ones first. */
export function Offers({ offers }: { offers: readonly Offer[] }) {
  const w = t.offers;
  if (offers.length === 0) return null;
  const sorted = [...offers.filter((one) => one.state === "open"), ...offers.filter((one) => one.state !== "open")];
  return (
    <section class="sheet" aria-label={w.title} data-testid="offers">
      <h2>{w.title}</h2>
      <p class="small">{w.lead}</p>
      <ul class="list">{sorted.map((one) => (
        <li key={one.offer_id}><a class="item" href={href("practice", "group", "offers", one.offer_id)} data-testid="offer-row">
          <span class="grow"><span class="strong">{w.named(w.kinds[one.kind], one.title, one.version)}</span>
            <span class="small">{w.from(one.group_name, one.made_by, momentText(one.made_at))}</span>
            <Mark shape={STATE_SHAPES[one.state]}>{w.states[one.state]}</Mark></span><Glyph shape="turn" /></a></li>
      ))}</ul>
    </section>
  );
}

/** Among the lists and the presets: the group offers something that nobody has decided about. */
export function OffersWait({ kind }: { kind: "list" | "preset" }) {
  const open = useSignal(0);
  const told = seat.value === "desk" && may("group.read");
  useEffect(() => {
    // Not being reached just now is said elsewhere.
    if (told) void askOffers().then((all) => { open.value = all.filter((one) => one.kind === kind && one.state === "open").length; }, () => undefined);
  }, [told]);
  if (!told || open.value === 0) return null;
  return (
    <Notice shape="note" id="offers-wait"><p>{t.offers.waiting(open.value)}</p>
      <a class="button" href={href("practice", "group")} data-testid="offers-open">{t.offers.look}</a></Notice>
  );
}
