import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { seat } from "../../session/state";
import { recordProof, type Proof, type ProofResult, type ProvedPaper } from "../../sync/proof";
import { t } from "../../text";
import { problemText } from "../attempt";
import { href } from "../route";

interface Props { record_id: string; version: string | null; link: string | null }

/** Where a paper's QR code leads: whether the record stands in the log as it came, in plain words. */
export function ProofOfRecord({ record_id, version, link }: Props) {
  const found = useSignal<Proof | null>(null);
  const wrong = useSignal<string | null>(null);
  useEffect(() => {
    found.value = wrong.value = null;
    recordProof(record_id, version, link, seat.value !== "desk").then(
      (proof) => { found.value = proof; }, (error: unknown) => { wrong.value = wordsFor(error); });
  }, [record_id, version, link]);
  const w = t.proof;
  return (
    <div class="page">
      <h1>{w.title}</h1>
      {wrong.value ? <Notice shape="warn" id="proof-wrong" live><p>{wrong.value}</p></Notice> : null}
      {found.value ? <Found {...found.value} record_id={record_id} /> : wrong.value ? null : <p role="status">{w.asking}</p>}
      <a class="button quiet" href={href("records", record_id)} data-testid="proof-record">{w.toRecord}</a>
    </div>
  );
}

function wordsFor(error: unknown): string {
  const { code, status } = error as { code?: string; status?: number };
  if (status === 404) return t.proof.unknown;
  if (status === 403) return t.desk.notAllowed;
  if (code === "no_answer") return t.proof.offline;
  if (code === "person_needed") return t.proof.signInAgain;
  if (status === 422) return t.proof.unreadable;
  return problemText(error);
}

function Found({ result, proof, paper, record_id }: Proof & { record_id: string }) {
  const w = t.proof;
  const save = () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify(proof)], { type: "application/json" }));
    link.download = `proof-${record_id}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  };
  return (
    <>
      {paper ? <Paper paper={paper} /> : null}
      {result.holds ? <Holds result={result} /> : (
        <Notice shape="stop" id="proof-broken"><p class="strong">{result.position === null ? w.broken : w.brokenAt(result.position)}</p>
          <p>{(w.reasons as Record<string, string>)[result.reason ?? ""] ?? result.reason}</p><p>{w.brokenTodo}</p></Notice>
      )}
      <More id="proof-entries" title={w.entries(result.entries.length)}>
        <ul class="list">{result.entries.map((one) => (
          <li key={one.event_id} class="stack" data-testid="proof-entry"><span>{w.entry(one.position, t.records.types[one.type] ?? one.type, momentText(one.occurred_at))}</span>
            <span class="small soft pre">{one.link}</span></li>))}</ul>
      </More>
      <More id="proof-limits" title={w.limitsTitle}>{w.limits.map((line) => <p key={line}>{line}</p>)}</More>
      <section class="sheet">
        <h2>{w.elsewhere}</h2>
        <p>{w.elsewhereLead}</p>
        <p class="small pre">dosebook log check-proof proof-{record_id}.json --key {result.fingerprint}</p>
        <Press id="proof-save" onPress={save}>{w.save}</Press>
      </section>
    </>
  );
}

function Paper({ paper }: { paper: ProvedPaper }) {
  const w = t.proof;
  if (!paper.known) return <Notice shape="stop" id="proof-paper"><p class="strong">{w.noVersion(paper.version)}</p><p>{w.brokenTodo}</p></Notice>;
  if (!paper.fits) return <Notice shape="stop" id="proof-paper"><p class="strong">{w.paperDiffers(paper.version)}</p><p>{w.brokenTodo}</p></Notice>;
  return (
    <Notice shape="done" id="proof-paper"><p class="strong">{w.paperFits(paper.version)}</p><p class="small">{w.paperCompare}</p>
      {paper.newest > paper.version ? <p data-testid="proof-newer">{w.newer(paper.newest)}</p> : null}</Notice>
  );
}

function Holds({ result }: { result: ProofResult }) {
  const w = t.proof;
  const [first, last] = [result.entries[0]?.position ?? 0, result.entries.at(-1)?.position ?? 0];
  return (
    <Notice shape="done" id="proof-holds">
      <p class="strong">{w.holds(result.entries.length)}</p>
      <p>{w.stand(first, last)}</p>
      <p>{w.signed(result.signed, result.certified)}</p>
      <p>{w.serverSigned}</p>
    </Notice>
  );
}
