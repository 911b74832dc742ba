import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { Choice, TextField } from "../../parts/fields";
import { declineOffer } from "../../session/commands_offers";
import { house } from "../../session/house";
import { lists } from "../../session/house_lists";
import { presetDocument } from "../../session/house_presets";
import { versionsOf } from "../../session/lists";
import { may } from "../../session/rights";
import { writing } from "../../session/state";
import type { ListVersion, Preset } from "../../session/types";
import { askOffers, type Offer } from "../../sync/rollouts";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { deskWords } from "../desk/papers";
import { editDraft } from "../lists/edit-draft";
import { ItemList, SideBySide as ListsBeside } from "../lists/side";
import { dayText } from "../lists/show";
import { editing } from "../presets/edit-form";
import { SideBySide as PresetsBeside } from "../presets/side";
import { useRegisters } from "../registers";
import { go, href } from "../route";
import { listForm, presetForm, presetValues, versionOf } from "./offer-forms";
import { STATE_SHAPES } from "./offers";

/** One offer beside what there is here, and the decision: take it over, changed or not, or decline it. */
export function OneOffer({ offer_id }: { offer_id: string }) {
  const ready = useRegisters();
  const found = useSignal<Offer | null | undefined>(undefined);
  const wrong = useSignal<string | null>(null);
  const load = async () => {
    try {
      found.value = (await askOffers()).find((one) => one.offer_id === offer_id) ?? null;
      wrong.value = null;
    } catch (error) {
      wrong.value = deskWords(error);
    }
  };
  useEffect(() => { void load(); }, [offer_id]);
  const w = t.offers;
  const offer = found.value;
  return (
    <div class="page">
      <h1>{offer ? w.named(w.kinds[offer.kind], offer.title, offer.version) : w.title}</h1>
      {wrong.value ?? (ready !== true && ready) ? <Notice shape="warn" live><p>{wrong.value ?? ready}</p></Notice> : null}
      {offer === undefined || ready !== true ? <p role="status">{t.common.loading}</p>
        : offer === null ? <p data-testid="offer-unknown">{w.unknown}</p>
          : <Shown offer={offer} again={load} />}
      <a class="button quiet" href={href("practice", "group")}>{t.group.title}</a>
    </div>
  );
}

/** The offer as it is known; apart from where it comes from, so that it can be looked at by itself. */
export function Shown({ offer, again }: { offer: Offer; again: () => Promise<void> }) {
  const w = t.offers;
  return (
    <>
      <p class="soft">{w.from(offer.group_name, offer.made_by, momentText(offer.made_at))} {w.key(offer.group_key)}</p>
      <Mark shape={STATE_SHAPES[offer.state]} id="offer-state">{w.states[offer.state]}</Mark>
      {offer.answered ? <p class="small">{offer.state === "taken"
        ? w.takenBy(offer.answered_by_name ?? t.common.unknownPerson, momentText(offer.answered.at), offer.answered.version ?? 0)
        : w.declinedBy(offer.answered_by_name ?? t.common.unknownPerson, momentText(offer.answered.at), offer.answered.reason ?? "")}</p> : null}
      {offer.note ? <p>{w.note(offer.note)}</p> : null}
      {offer.effective_from ? <p>{w.day(dayText(offer.effective_from))}</p> : null}
      {offer.kind === "list" ? <ListOffered offer={offer} /> : <PresetOffered offer={offer} />}
      {offer.state === "open" && may(offer.kind === "list" ? "list.write" : "preset.write") ? <Decline offer={offer} again={again} /> : null}
    </>
  );
}

function ListOffered({ offer }: { offer: Offer }) {
  const w = t.offers;
  const own = lists.value.find((one) => one.list_id === offer.subject_id) ?? null;
  const last: ListVersion | null = own ? versionsOf(own)[versionsOf(own).length - 1] ?? null : null;
  const list = offer.list!;
  const take = () => {
    editDraft(own?.list_id ?? `new-${list.kind}`).set(listForm(offer, last?.version ?? null));
    go("practice", "lists", ...(own ? [own.list_id, "edit"] : ["new", list.kind]));
  };
  return (
    <>
      {last ? <ListsBeside left={last} right={versionOf(offer)} leftTitle={t.lists.current(last.version)} rightTitle={w.offered} />
        : <section class="sheet"><p>{w.nothingHere}</p><ItemList version={versionOf(offer)} /></section>}
      {offer.state === "open" && may("list.write") ? <Take onPress={take} /> : null}
    </>
  );
}

function PresetOffered({ offer }: { offer: Offer }) {
  const w = t.offers;
  const known = presetDocument(offer.subject_id ?? "") ?? null;
  const laser = useSignal(offer.preset?.device_id ?? "");
  const tip = useSignal(offer.preset?.handpiece_id ?? "");
  const { devices, handpieces } = house.value;
  const tips = handpieces.filter((one) => one.device_id === laser.value);
  const values = presetValues(offer, laser.value, tip.value);
  const take = () => {
    editing(known?.preset_id ?? null).set(presetForm(offer, values, known));
    go("practice", "presets", ...(known ? [known.preset_id, "change"] : ["new"]));
  };
  const open = offer.state === "open" && may("preset.write");
  return (
    <>
      {Object.keys(offer.errors).length > 0 ? (
        <Notice shape="warn" id="offer-errors"><p class="strong">{w.doesNotFit}</p></Notice>
      ) : null}
      <p data-testid="offer-made-for">{w.madeFor([offer.row?.["laser"], offer.row?.["handpiece"], offer.row?.["procedure"]].filter(Boolean).join(", "))}</p>
      {open && offer.preset !== null ? <Notice shape="note" id="offer-by-name"><p>{w.byName}</p></Notice> : null}
      {open && offer.preset === null ? (
        <>
          <Choice id="offer-laser" legend={t.plan.laser} value={laser.value} options={devices.map((d) => ({ value: d.device_id, text: d.label, under: d.serial }))}
            onChange={(id) => { laser.value = id; tip.value = ""; }} />
          {tips.length > 0 ? <Choice id="offer-tip" legend={t.plan.handpiece} value={tip.value} options={tips.map((h) => ({ value: h.handpiece_id, text: h.label }))}
            onChange={(id) => { tip.value = id; }} /> : null}
        </>
      ) : null}
      <PresetsBeside left={known ? known as Partial<Preset> : {}} right={values} leftTitle={known?.version != null ? t.presets.current(known.version) : w.nothingHere} rightTitle={w.offered} />
      {open ? <Take onPress={take} disabled={!laser.value || !tip.value} /> : null}
    </>
  );
}

function Take({ onPress, disabled = false }: { onPress: () => void; disabled?: boolean }) {
  return <div class="stack"><p class="small">{t.offers.takeHow}</p>
    <Press id="offer-take" kind="main" disabled={disabled || !writing.value} onPress={onPress}>{t.offers.take}</Press></div>;
}

function Decline({ offer, again }: { offer: Offer; again: () => Promise<void> }) {
  const asking = useSignal(false);
  const reason = useSignal("");
  const decline = () => void attempt(() => declineOffer(offer.kind, offer.offer_id, reason.value.trim())).then((done) => { if (done) void again(); });
  return (
    <div class="stack">
      <div class="row"><Press id="offer-decline" kind="quiet" pressed={asking.value} onPress={() => { asking.value = !asking.value; }}>{t.offers.decline}</Press></div>
      {asking.value ? (
        <div class="sheet">
          <TextField id="offer-reason" label={t.offers.reason} value={reason.value} onChange={(text) => { reason.value = text; }} max={1000} spell focus />
          <Press id="offer-decline-go" kind="main" disabled={!reason.value.trim() || busy.value || !writing.value} onPress={decline}>{t.offers.declineNow}</Press>
        </div>
      ) : null}
    </div>
  );
}
