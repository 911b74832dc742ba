import { Fragment } from "preact";
import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Notice, Press } from "../../parts/basics";
import { Select, TextField, Wrong } from "../../parts/fields";
import { More } from "../../parts/dose";
import { houseZone } from "../../session/house_lists";
import { localDay, versionsOf } from "../../session/lists";
import { seat } from "../../session/state";
import type { ListDocument } from "../../session/types";
import { t } from "../../text";
import type { StarterList } from "../../text/en/starters";
import { starterList } from "../../text/starters";
import { attempt, busy } from "../attempt";
import { go, href } from "../route";
import { offer, offerUndo, UndoSlot } from "../undo";
import { editDraft } from "./edit-draft";
import { asVersion, emptyItem, fromStarter, fromVersion, inserted, LONGEST_TEXT, moved, newForm, problems, untouched, type FormItem, type ListForm, type Problems } from "./edit-form";
import { Preview } from "./preview";
import { Publish } from "./publish";
import { SideBySide } from "./side";

interface Props { list: ListDocument | null; kind: string; preview: boolean }

/** Add, reword, reorder, group: everything by buttons; nothing counts before it is published. */
export function EditList({ list, kind, preview }: Props) {
  const kept = editDraft(list?.list_id ?? `new-${kind}`);
  const fresh = useSignal(newId());
  const tried = useSignal(false);
  const looking = useSignal(preview);
  if (!kept.ready.value) return <div class="page"><p role="status">{t.common.loading}</p></div>;
  const last = list ? versionsOf(list)[versionsOf(list).length - 1] ?? null : null;
  const form = kept.value.value ?? (last ? fromVersion(last, last.version) : newForm(kind, t.lists.kinds[kind] ?? kind));
  const set = (change: Partial<ListForm>) => kept.set({ ...(kept.value.value ?? form), ...change });
  const found = problems(form, localDay(Date.now(), houseZone()));
  const leave = () => (list ? go("practice", "lists", list.list_id) : go("practice", "lists"));
  if (looking.value) return <Preview version={asVersion(form)} kind={kind} onBack={() => { looking.value = false; }} />;
  const overtaken = last !== null && form.base !== last.version;
  return (
    <div class="page">
      <header class="stack">
        <h1>{list ? t.lists.editTitle(t.lists.kinds[kind] ?? kind) : t.lists.newTitle(t.lists.kinds[kind] ?? kind)}</h1>
        <p class="small soft">{form.base !== null ? t.lists.onBase(form.base) : ""} {seat.value === "desk" ? t.lists.keptDesk : t.lists.kept}</p>
      </header>
      {overtaken ? (
        <Notice shape="warn" id="list-overtaken" live>
          <p>{t.lists.overtaken(last.version)}</p>
          <SideBySide left={last} right={asVersion(form)} leftTitle={t.lists.current(last.version)} rightTitle={t.lists.yours} />
          <Press id="list-on-top" onPress={() => set({ base: last.version, key: newId() })}>{t.lists.onTop(last.version)}</Press>
        </Notice>
      ) : null}
      {list === null && untouched(form) ? <StarterOffer kind={kind} begin={(starter) => kept.set(fromStarter(form, starter))} /> : null}
      {form.starter ? <Notice shape="warn" id="list-starter-note"><p>{t.lists.starter.note}</p></Notice> : null}
      <TextField id="list-title" label={t.lists.listTitle} value={form.title} onChange={(title) => set({ title })} max={LONGEST_TEXT} spell
        wrong={tried.value && found.title ? t.lists.wrong[found.title] : undefined} />
      <Items form={form} set={set} found={found} tried={tried.value} />
      <div class="row">
        <Press id="item-add" onPress={() => set({ items: [...form.items, emptyItem()] })}>{t.lists.add}</Press>
        <Press id="list-preview" disabled={form.items.length === 0} onPress={() => { looking.value = true; window.scrollTo(0, 0); }}>{t.lists.preview}</Press>
      </div>
      <Publish list_id={list?.list_id ?? fresh.value} form={form} set={set} found={found} base={last} blocked={overtaken}
        tried={() => { tried.value = true; }} onDone={() => { kept.clear(); if (list) leave(); else go("practice", "lists"); }} />
      <div class="row">
        {kept.value.value ? <Press id="list-discard" onPress={() => { const before = kept.value.value; kept.clear(); offerUndo(t.lists.discarded, async () => kept.set(before)); }}>{t.lists.discard}</Press> : null}
        <a class="button quiet" href={list ? href("practice", "lists", list.list_id) : href("practice", "lists")}>{list ? t.lists.backToList : t.lists.back}</a>
      </div>
    </div>
  );
}

/** A beginning for whoever faces an empty page; to be gone through, not to be taken as it is. */
function StarterOffer({ kind, begin }: { kind: string; begin: (starter: StarterList) => void }) {
  const take = () => void attempt(async () => {
    const starter = await starterList(kind);
    if (starter) begin(starter);
  });
  return (
    <Notice calm id="list-starter">
      <p>{t.lists.starter.offer}</p>
      <Press id="list-starter-take" disabled={busy.value} onPress={take}>{t.lists.starter.take}</Press>
    </Notice>
  );
}

interface ItemsProps { form: ListForm; set: (change: Partial<ListForm>) => void; found: Problems; tried: boolean }

function Items({ form, set, found, tried }: ItemsProps) {
  const change = (at: number, what: Partial<FormItem>) =>
    set({ items: form.items.map((item, i) => (i === at ? { ...item, ...what } : item)) });
  const removedAt = useSignal<number | null>(null);
  const remove = (at: number) => {
    const gone = form.items[at]!;
    const rest = form.items.filter((_, i) => i !== at);
    set({ items: rest });
    removedAt.value = at;
    offerUndo(t.lists.removed(gone.text), async () => set({ items: inserted(rest, at, gone) }));
  };
  // The undo stands where the item stood.
  const undoAt = (i: number) => (removedAt.value === i && offer.value ? <UndoSlot>{null}</UndoSlot> : null);
  return (
    <section class="stack" aria-label={t.lists.text}>
      {tried && found.list ? <Wrong id="list-none">{t.lists.wrong[found.list]}</Wrong> : null}
      {form.items.map((item, i) => (
        <Fragment key={item.item_id}>
          {undoAt(i)}
          <div class="sheet" data-testid="list-item">
            <div class="list-edit">
              <TextField id={`item-text-${i + 1}`} label={`${t.lists.item(i + 1)}: ${t.lists.text.toLowerCase()}`} value={item.text} long
                onChange={(text) => change(i, { text: text.replace(/\s*\n\s*/g, " ") })} max={LONGEST_TEXT} spell
                wrong={tried && found.items[item.item_id] ? t.lists.wrong[found.items[item.item_id]!] : undefined} />
              <div class="row">
                <Press id={`item-up-${i + 1}`} label={t.lists.up(i + 1)} disabled={i === 0} onPress={() => set({ items: moved(form.items, i, -1) })}>↑ {t.lists.upShort}</Press>
                <Press id={`item-down-${i + 1}`} label={t.lists.down(i + 1)} disabled={i === form.items.length - 1} onPress={() => set({ items: moved(form.items, i, 1) })}>↓ {t.lists.downShort}</Press>
                <Press id={`item-insert-${i + 1}`} label={t.lists.insert(i + 1)} onPress={() => set({ items: inserted(form.items, i + 1, emptyItem(item.group)) })}>{t.lists.insertShort}</Press>
                <Press id={`item-remove-${i + 1}`} label={t.lists.remove(i + 1)} onPress={() => remove(i)}>{t.lists.removeShort}</Press>
              </div>
            </div>
            <More id={`item-more-${i + 1}`} title={item.group ? `${item.group} (${t.lists.more.toLowerCase()})` : t.lists.more}>
              <TextField id={`item-group-${i + 1}`} label={t.lists.group} value={item.group} onChange={(group) => change(i, { group })} max={LONGEST_TEXT} spell />
              <TextField id={`item-why-${i + 1}`} label={t.lists.why} value={item.why} onChange={(why) => change(i, { why })} max={LONGEST_TEXT} spell />
              <Select id={`item-na-${i + 1}`} label={t.lists.naRule} value={item.not_applicable}
                options={Object.entries(t.lists.naRules).map(([value, text]) => ({ value, text }))}
                onChange={(rule) => change(i, { not_applicable: rule as FormItem["not_applicable"] })} />
              <Select id={`item-beside-${i + 1}`} label={t.lists.beside} value={item.beside ?? ""}
                options={Object.entries(t.lists.besides).map(([value, text]) => ({ value, text }))}
                onChange={(beside) => change(i, { beside: (beside || null) as FormItem["beside"] })} />
            </More>
          </div>
        </Fragment>
      ))}
      {undoAt(form.items.length)}
    </section>
  );
}
