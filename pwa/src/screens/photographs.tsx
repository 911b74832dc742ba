import "../styles/photographs.css";
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import type { Shape } from "../parts/basics";
import { Notice, Press } from "../parts/basics";
import { Choice, TextField } from "../parts/fields";
import { PhotoList, PickPhoto, type PhotoShown } from "../parts/photo";
import type { RecordDocument } from "../session/fold";
import {
  addPhotograph, hashOf, heldApart, holds, kept, refreshPhotographs, restoreAttachment, see, takeBackAttachment, takenHere,
  type Seen,
} from "../session/photographs";
import { drawAnew, PictureError, type Picture } from "../session/picture";
import { seat, status, writing } from "../session/state";
import { t } from "../text";
import { attempt, busy } from "./attempt";
import { offerUndo, UndoSlot } from "./undo";

type Attachment = RecordDocument["attachments"][number];

/** The photographs of a record; with `adding`, also taking them and taking them back. */
export function Photographs({ record, adding = false }: { record: RecordDocument; adding?: boolean }) {
  const w = t.photographs;
  useEffect(() => { void refreshPhotographs().catch(() => undefined); }, [record.record_id]);
  if (record.attachments.length === 0 && !adding) return null;
  const waiting = record.attachments.filter((one) => ["waiting", "refused"].includes(kept.value.get(one.sha256)?.state ?? "")).length;
  return (
    <section class="stack" aria-label={w.title} data-testid="photographs">
      {adding ? <h1>{w.title}</h1> : <h2>{w.title}</h2>}
      {adding ? <><Adding record={record} /><UndoSlot>{null}</UndoSlot></> : null}
      {waiting > 0 ? <p role="status" class="small" data-testid="photographs-not-sent">{w.notSent(waiting)}</p> : null}
      {record.attachments.length === 0 ? null : <Listed record={record} adding={adding} />}
    </section>
  );
}

function Listed({ record, adding }: { record: RecordDocument; adding: boolean }) {
  const w = t.photographs;
  const found = useSignal<ReadonlyMap<string, Seen | "trouble">>(new Map());
  const large = useSignal<string | null>(null);
  const hashes = record.attachments.map((one) => one.sha256).join(" ");
  // Asked again once there is a connection, and once a picture has gone to the server.
  useEffect(() => {
    let here = true;
    for (const one of record.attachments) {
      void see(one.sha256).catch(() => "trouble" as const).then((what) => {
        if (here) found.value = new Map(found.value).set(one.sha256, what);
      });
    }
    return () => { here = false; };
  }, [hashes, status.value.online, kept.value]);
  const photos = record.attachments.map((one, index): PhotoShown => {
    const what = found.value.get(one.sha256);
    const caption = one.caption ?? w.noCaption;
    return {
      id: one.attachment_id, caption, label: w.one(index + 1, caption),
      url: typeof what === "object" ? what.url : null, ...whereOf(record, one, what),
    };
  });
  const takeBack = (id: string) => {
    const one = record.attachments.find((each) => each.attachment_id === id);
    if (!one) return;
    void attempt(async () => {
      const said = await takeBackAttachment(record, one);
      offerUndo(w.takenBack, () => restoreAttachment(record, one.sha256, said));
    });
  };
  const may = adding && record.status === "draft" && writing.value;
  return (
    <PhotoList photos={photos} large={large.value} onLarge={(id) => { large.value = id; }}
      more={(id) => may ? <Press id={`photo-${id}-take-back`} kind="quiet" disabled={busy.value} onPress={() => takeBack(id)}>{w.takeBack}</Press> : null} />
  );
}

function whereOf(record: RecordDocument, one: Attachment, what: Seen | "trouble" | undefined): { where: string; shape: Shape } {
  const w = t.photographs;
  const mine = kept.value.get(one.sha256);
  if (mine?.state === "refused") return { where: w.refused(mine.problem ?? ""), shape: "warn" };
  if (mine?.state === "waiting") {
    return heldApart(record.record_id, one.event_id) ? { where: w.apart, shape: "warn" } : { where: w.onTablet, shape: "tablet" };
  }
  if (mine?.state === "sent" && heldApart(record.record_id, one.event_id)) return { where: w.apartThere, shape: "warn" };
  if (mine?.state === "sent" || typeof what === "object") return { where: w.onServer, shape: "cloud" };
  if (what === undefined) return { where: w.loading, shape: "wait" };
  if (what === "not_there") return takenHere(record.record_id, one.event_id) ? { where: w.lost, shape: "warn" } : { where: w.notThere, shape: "wait" };
  return what === "no_connection" ? { where: w.noConnection, shape: "off" } : { where: w.trouble, shape: "warn" };
}

interface Fresh { picture: Picture; url: string }

/** Take or choose, look at it, say what it shows, keep it: nothing is kept before that. */
function Adding({ record }: { record: RecordDocument }) {
  const w = t.photographs;
  const fresh = useSignal<Fresh | null>(null);
  const preparing = useSignal(false);
  const caption = useSignal("");
  const wrong = useSignal<string | null>(null);
  const clear = () => {
    wrong.value = null;
    if (fresh.value) URL.revokeObjectURL(fresh.value.url);
    fresh.value = null;
    caption.value = "";
  };
  const here = useRef(true);
  // Leaving, or locking, drops what is not kept.
  useEffect(() => () => { here.current = false; clear(); }, []);
  if (seat.value !== "tablet" || record.status !== "draft") return null;
  const pick = (file: File) => {
    clear();
    preparing.value = true;
    void drawAnew(file).then(
      (picture) => {
        if (here.current) fresh.value = { picture, url: URL.createObjectURL(new Blob([picture.bytes], { type: "image/jpeg" })) };
      },
      (problem: unknown) => { wrong.value = inWords(problem); },
    ).finally(() => { preparing.value = false; });
  };
  const keep = () => void attempt(async () => {
    if (!fresh.value) return;
    if (holds(record, await hashOf(fresh.value.picture))) wrong.value = w.same;
    else {
      await addPhotograph(record, fresh.value.picture, caption.value.trim() || null);
      clear();
    }
  });
  const captions = Object.values(w.captions);
  return (
    <div class="stack">
      <p class="small soft">{w.lead}</p>
      {fresh.value === null ? (
        <>
          <PickPhoto words={w} disabled={busy.value || preparing.value || !writing.value} onPick={pick} />
          {preparing.value ? <p role="status">{w.preparing}</p> : null}
        </>
      ) : (
        <div class="sheet stack" data-testid="photo-fresh">
          <img class="photo-fresh" src={fresh.value.url} alt={w.preview} />
          <Choice id="photo-caption" legend={w.caption} hint={w.captionHint} across value={caption.value}
            options={captions.map((text) => ({ value: text, text }))} onChange={(text) => { caption.value = text; }} />
          <TextField id="photo-caption-own" label={w.own} value={caption.value} max={400} spell onChange={(text) => { caption.value = text; }} />
          <div class="row">
            <Press id="photo-keep" kind="main" large disabled={busy.value || !writing.value} onPress={keep}>{w.keep}</Press>
            <Press id="photo-discard" disabled={busy.value} onPress={clear}>{w.discard}</Press>
          </div>
        </div>
      )}
      {wrong.value ? <Notice shape="warn" id="photo-wrong" live><p>{wrong.value}</p></Notice> : null}
    </div>
  );
}

function inWords(problem: unknown): string {
  const w = t.photographs;
  return problem instanceof PictureError && problem.code === "picture_too_large" ? w.tooLarge : w.unreadable;
}
