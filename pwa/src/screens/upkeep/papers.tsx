/** Certificates where they are read: what each is called, where it is, shown if it is a picture, saved as a file. */
import "../../styles/photographs.css";
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import type { Certificate } from "../../events/catalogue";
import { Mark, Press, type Shape } from "../../parts/basics";
import { Wrong } from "../../parts/fields";
import { openPaper, refreshCertificates, there, whereIs, type Whereabouts } from "../../session/certificates";
import { may } from "../../session/rights";
import { status } from "../../session/state";
import { NoAnswer } from "../../sync/client";
import { localNumbers, t } from "../../text";

const SHAPES: Readonly<Record<Whereabouts, Shape>> = { tablet: "tablet", server: "cloud", to_come: "wait", refused: "warn" };

/** In kB or MB, as folders show it. */
export const sizeText = (bytes: number): string => localNumbers(bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`);

export function Papers({ papers }: { papers: readonly Certificate[] | null | undefined }) {
  const online = status.value.online;
  const some = (papers?.length ?? 0) > 0;
  useEffect(() => { if (some) void refreshCertificates(); }, [some, online]);
  if (!papers || papers.length === 0) return null;
  return <ul class="list" aria-label={t.certificates.title} data-testid="papers-list">{papers.map((one) => <Paper key={one.sha256} paper={one} />)}</ul>;
}

function Paper({ paper }: { paper: Certificate }) {
  const w = t.certificates;
  const shown = useSignal<string | null>(null);
  const wrong = useSignal<string | null>(null);
  const working = useSignal(false);
  const where = whereIs(paper.sha256);
  const hide = () => {
    if (shown.value !== null) URL.revokeObjectURL(shown.value);
    shown.value = null;
  };
  // Leaving, or locking, shows it no longer.
  useEffect(() => hide, []);
  const open = async (then: (url: string, file_name: string) => void) => {
    wrong.value = null;
    working.value = true;
    try {
      const found = await openPaper(paper);
      if (found === null) wrong.value = w.notThere;
      else then(URL.createObjectURL(found.blob), found.file_name);
    } catch (problem) {
      wrong.value = problem instanceof NoAnswer ? w.noConnection : w.trouble;
    } finally {
      working.value = false;
    }
  };
  const save = () => void open((url, file_name) => {
    const link = document.createElement("a");
    link.href = url;
    link.download = file_name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 60_000);
  });
  const picture = paper.media_type !== "application/pdf";
  return (
    <li class="item" data-testid="paper"><span class="grow"><span>{paper.file_name}</span>
      <span class="small soft">{sizeText(paper.size_bytes)}</span>
      {where ? <Mark shape={SHAPES[where]} id="paper-where">{w.where[where]}</Mark> : <Mark shape="off" id="paper-where">{w.cannotTell}</Mark>}
      {wrong.value ? <Wrong id="paper-wrong">{wrong.value}</Wrong> : null}
      {shown.value ? <img class="paper-shown" src={shown.value} alt={paper.file_name} data-testid="paper-shown" /> : null}</span>
      <span class="row">
        {picture ? <Press id="paper-show" kind="quiet" pressed={shown.value !== null} disabled={working.value} label={w.one(shown.value ? w.hide : w.show, paper.file_name)}
          onPress={() => (shown.value ? hide() : void open((url) => { shown.value = url; }))}>{shown.value ? w.hide : w.show}</Press> : null}
        <Press id="paper-save" kind="quiet" disabled={working.value} label={w.one(w.save, paper.file_name)} onPress={save}>{w.save}</Press>
      </span>
    </li>
  );
}

/** What lies on the server for nothing: to whoever can have sent it. */
export function UnusedPapers() {
  useEffect(() => { if (may("device.write")) void refreshCertificates(); }, []);
  const unused = [...(there.value?.values() ?? [])].filter((one) => !one.named).length;
  return may("device.write") && unused > 0 ? <p class="small soft" data-testid="papers-unused">{t.certificates.unused(unused)}</p> : null;
}
