import "../../styles/tablets.css";
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { enrolledSince, makeCode, type EnrolmentCode, type ListedTablet } from "../../sync/tablets";
import { t } from "../../text";
import { deskWords } from "../desk/papers";

/** How often to look whether the code was used [ms]. */
const LOOK_MS = 4000;

/** A one-time code for a new tablet, as text and as QR, with the time it has left. */
export function NewTablet({ listed, look }: { listed: readonly ListedTablet[]; look: () => Promise<void> }) {
  const w = t.tablets;
  const made = useSignal<EnrolmentCode | null>(null);
  const left_ms = useSignal(0);
  const wrong = useSignal<string | null>(null);
  const busy = useSignal(false);
  const make = async () => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      made.value = await makeCode();
      left_ms.value = made.value.left_ms;
    } catch (error) {
      wrong.value = deskWords(error);
    } finally {
      busy.value = false;
    }
  };
  const code = made.value;
  const fresh = code === null ? undefined : enrolledSince(code, listed);
  const over = left_ms.value <= 0;
  useEffect(() => {
    if (code === null || fresh) return;
    const end = performance.now() + code.left_ms;
    const beat = setInterval(() => { left_ms.value = Math.max(0, end - performance.now()); }, 500);
    const looking = setInterval(() => { if (left_ms.value > 0) void look(); }, LOOK_MS);
    return () => { clearInterval(beat); clearInterval(looking); };
  }, [code, fresh !== undefined]);
  return (
    <section class="sheet" data-testid="new-tablet">
      <h2>{w.newTitle}</h2>
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {fresh ? <Notice shape="done" id="code-used" live><p>{w.used(fresh.label)}</p></Notice>
        : code && over ? <Notice shape="wait" id="code-over" live><p>{w.over}</p></Notice>
        : code ? <Shown code={code} left_ms={left_ms.value} />
        : <p class="small">{w.newLead}</p>}
      <div class="row">
        <Press id="code-make" kind={code && !over && !fresh ? "plain" : "main"} disabled={busy.value} onPress={() => void make()}>{code ? w.makeAnother : w.make}</Press>
        {code ? <Press id="code-hide" kind="quiet" onPress={() => { made.value = null; }}>{w.hide}</Press> : null}
      </div>
    </section>
  );
}

function Shown({ code, left_ms }: { code: EnrolmentCode; left_ms: number }) {
  const w = t.tablets;
  const { modules, path } = code.qr;
  const seconds = Math.ceil(left_ms / 1000);
  return (
    <div class="enrol-code">
      <svg viewBox={`0 0 ${modules} ${modules}`} role="img" aria-label={w.qrLabel} data-testid="code-qr" shape-rendering="crispEdges">
        <rect width={modules} height={modules} fill="#ffffff" /><path d={path} stroke="#000000" stroke-width="1" fill="none" />
      </svg>
      <div class="stack">
        <p>{w.scan}</p>
        <p class="setting" data-testid="code-text">{code.code}</p>
        <p class="small soft">{w.typed(code.address.split("/#")[0] ?? "")}</p>
        {/^https?:\/\/(localhost|127\.|\[::1\])/.test(code.address) ? <Notice shape="warn" id="code-loopback"><p>{w.loopback}</p></Notice> : null}
        <p class="strong num" role="timer" data-testid="code-left">{w.left(Math.floor(seconds / 60), String(seconds % 60).padStart(2, "0"))}</p>
        <p class="small soft">{w.once}</p>
      </div>
    </div>
  );
}
