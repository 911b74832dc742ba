/** Choosing certificates where work or a calibration is noted: what cannot be kept is said here, before anything is sent. */
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import type { Certificate } from "../../events/catalogue";
import { Press } from "../../parts/basics";
import { Wrong } from "../../parts/fields";
import { atHand, letGo, PaperError, refreshCertificates, takeIn } from "../../session/certificates";
import { MOST_PAPERS } from "../../session/paper";
import { refreshPhotographs } from "../../session/photographs";
import { seat, writing } from "../../session/state";
import { t } from "../../text";
import { sizeText } from "./papers";

interface Props {
  /** What the files belong to: the work's or the meter's id. */
  owner: string;
  papers: readonly Certificate[];
  /** Named by the entry that is being corrected: they stay where they are. */
  before: readonly Certificate[];
  /** Which one is on its way to the server, from 1; 0: none. */
  sending: number;
  onChange: (change: (papers: readonly Certificate[]) => readonly Certificate[]) => void;
}

export function PapersField({ owner, papers, before, sending, onChange }: Props) {
  const w = t.certificates;
  const input = useRef<HTMLInputElement>(null);
  const adding = useSignal(false);
  const refused = useSignal<readonly string[]>([]);
  // Before it is known what is here, nothing is said to be gone.
  const looked = useSignal(false);
  useEffect(() => {
    const asked = refreshCertificates();
    void (seat.value === "desk" ? asked : refreshPhotographs()).catch(() => undefined).finally(() => { looked.value = true; });
  }, []);
  const isOld = (one: Certificate) => before.some(({ sha256 }) => sha256 === one.sha256);
  const add = async (files: readonly File[]) => {
    refused.value = [];
    adding.value = true;
    const known = new Set(papers.map(({ sha256 }) => sha256));
    for (const file of files) {
      try {
        const one = known.size < MOST_PAPERS ? await takeIn(owner, file) : null;
        if (one === null) refused.value = [...refused.value, w.notTaken(file.name, w.tooMany)];
        else if (known.has(one.sha256)) refused.value = [...refused.value, w.notTaken(file.name, w.twice)];
        else {
          known.add(one.sha256);
          onChange((list) => [...list, one]);
        }
      } catch (problem) {
        refused.value = [...refused.value, w.notTaken(file.name, problem instanceof PaperError ? w.wrong[problem.code] : w.trouble)];
      }
    }
    adding.value = false;
  };
  const take = (one: Certificate) => {
    onChange((list) => list.filter(({ sha256 }) => sha256 !== one.sha256));
    if (!isOld(one)) void letGo(one.sha256).catch(() => undefined);
  };
  return (
    <fieldset class="field" data-testid="papers" aria-describedby="papers-hint"><legend>{w.label}</legend>
      <span id="papers-hint" class="hint">{w.hint}</span>
      {papers.length > 0 ? (
        <ul class="list" data-testid="papers-chosen">{papers.map((one, at) => (
          <li key={one.sha256} class="item" data-testid="paper-chosen"><span class="grow"><span>{one.file_name}</span>
            <span class="small soft">{sizeText(one.size_bytes)}</span>
            {!looked.value || atHand(one, before) ? null : <Wrong id={`paper-${at}-wrong`}>{w.wrong.certificate_gone}</Wrong>}</span>
            <Press id={`paper-${at}-take`} kind="quiet" label={w.one(w.take, one.file_name)} disabled={sending > 0} onPress={() => take(one)}>{w.take}</Press>
          </li>))}</ul>
      ) : null}
      <div class="row"><Press id="papers-add" disabled={adding.value || sending > 0 || !writing.value} onPress={() => input.current?.click()}>{w.add}</Press></div>
      <input ref={input} type="file" multiple accept=".pdf,.png,.jpg,.jpeg,application/pdf,image/png,image/jpeg" hidden tabIndex={-1} aria-label={w.add} data-testid="papers-file"
        onChange={(event) => {
          const files = [...(event.currentTarget.files ?? [])];
          // The same file may be chosen again after it was taken away.
          event.currentTarget.value = "";
          if (files.length > 0) void add(files);
        }} />
      {adding.value ? <p role="status" class="small" data-testid="papers-adding">{w.adding}</p> : null}
      {sending > 0 ? <div role="status" data-testid="papers-sending"><p class="small">{w.sending(sending, papers.length, papers[sending - 1]?.file_name ?? "")}</p>
        <progress aria-label={w.title} max={papers.length} value={sending - 1} /></div> : null}
      {refused.value.map((text, at) => <Wrong key={text} id={`papers-refused-${at}`}>{text}</Wrong>)}
    </fieldset>
  );
}
