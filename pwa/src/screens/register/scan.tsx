import "../../styles/registers.css";
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { focusOnce, Notice, Press } from "../../parts/basics";
import { readLabel, type Labelled, type LabelCode } from "../../session/label-code";
import { t } from "../../text";
import { readFrame } from "./scan-frame";

interface Props {
  id: string;
  /** What is looked for; another of our labels is named as such. */
  kind: Labelled;
  onFound: (id: string) => void;
}

/** How often a picture is looked at [ms]. */
const LOOK_MS = 150;

/** A button that opens the camera to read a label; the focus goes with it, and comes back. */
export function Scan(props: Props) {
  const open = useSignal(false);
  const was = useSignal(false);
  const w = t.registers.scan;
  if (!open.value) return <Press id={`${props.id}-open`} focus={was.value} onPress={() => { open.value = was.value = true; }}>{w.open}</Press>;
  return <Camera {...props} onFound={(id) => { open.value = false; props.onFound(id); }} close={() => { open.value = false; }} />;
}

function Camera({ id, kind, onFound, close }: Props & { close: () => void }) {
  const w = t.registers.scan;
  const video = useRef<HTMLVideoElement>(null);
  const wrong = useSignal<string | null>(null);
  const other = useSignal<string | null>(null);
  useEffect(() => {
    const canvas = document.createElement("canvas");
    let stream: MediaStream | null = null;
    let ended = false;
    let next: ReturnType<typeof setTimeout> | undefined;
    const look = async () => {
      const text = video.current ? await readFrame(video.current, canvas).catch(() => null) : null;
      if (ended) return;
      const found: LabelCode | null = text === null ? null : readLabel(text);
      if (found?.kind === kind) return onFound(found.id);
      if (text !== null) other.value = found ? w.otherKind(t.registers.kinds[found.kind].one) : w.notOurs;
      next = setTimeout(() => void look(), LOOK_MS);
    };
    const start = async () => {
      if (!navigator.mediaDevices) throw new Error("no camera");
      const got = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1280 } }, audio: false });
      stream = got;
      if (ended || !video.current) return stop();
      video.current.srcObject = got;
      await video.current.play();
      void look();
    };
    const stop = () => { for (const track of stream?.getTracks() ?? []) track.stop(); };
    start().catch((error: unknown) => { if (!ended) wrong.value = (error as { name?: string }).name === "NotAllowedError" ? w.refused : w.none; });
    return () => { ended = true; clearTimeout(next); stop(); };
  }, []);
  return (
    <section class="sheet scan" aria-label={w.open} data-testid={`${id}-camera`} tabIndex={-1} ref={focusOnce}>
      {wrong.value ? <Notice shape="warn" id={`${id}-wrong`} live><p>{wrong.value}</p></Notice> : <>
        <p class="small">{w.hold}</p>
        <video ref={video} muted playsInline aria-label={w.picture} data-testid={`${id}-video`} />
        <p class="small" role="status" data-testid={`${id}-other`}>{other.value ?? ""}</p>
      </>}
      <Press id={`${id}-close`} onPress={close}>{w.close}</Press>
    </section>
  );
}
