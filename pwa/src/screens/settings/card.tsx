import { useSignal } from "@preact/signals";
import { useLayoutEffect, useRef } from "preact/hooks";
import { Press } from "../../parts/basics";
import { PX_PER_MM } from "../../store/choices";
import { localNumbers, t } from "../../text";
import { pxPerMm } from "../choices";

/** ISO/IEC 7810:2019, ID-1: 85.60 mm by 53.98 mm. */
const LONG_MM = 85.6;
const SHORT_MM = 53.98;
/** One step of the fine buttons is about a third of a millimetre of the drawn card's long side. */
const FINE = 0.02;
const COARSE = 0.2;

/** Draw a bank card and change it until a real one fits; tells how many pixels a millimetre has, or null. */
export function CardMeasure({ onDone }: { onDone: (px_per_mm: number | null) => void }) {
  const w = t.settings.card;
  const px = useSignal(pxPerMm());
  const place = useRef<HTMLDivElement>(null);
  const card = useRef<HTMLDivElement>(null);
  const change = (by: number) => {
    px.value = Math.min(PX_PER_MM.max, Math.max(PX_PER_MM.min, Math.round((px.value + by) * 100) / 100));
  };
  // Before it is painted, so that the drawn card and the figure below never differ.
  useLayoutEffect(() => {
    const { style } = card.current!;
    // Upright where it does not fit lying: one side is enough to measure by.
    const lying = LONG_MM * px.value <= (place.current?.clientWidth ?? 0);
    style.width = `${(lying ? LONG_MM : SHORT_MM) * px.value}px`;
    style.height = `${(lying ? SHORT_MM : LONG_MM) * px.value}px`;
  }, [px.value]);
  return (
    <section class="stack" data-testid="card">
      <h3>{w.title}</h3>
      <p class="small">{w.lead}</p>
      <div ref={place}><div class="id-card" ref={card} role="img" aria-label={w.drawn} data-testid="card-drawn" /></div>
      <p class="small num" role="status" data-testid="card-px">{w.now(localNumbers(px.value.toFixed(2)))}</p>
      <div class="row">
        <Press id="card-much-smaller" label={w.muchSmaller} onPress={() => change(-COARSE)}>− −</Press>
        <Press id="card-smaller" label={w.smaller} onPress={() => change(-FINE)}>−</Press>
        <Press id="card-larger" label={w.larger} onPress={() => change(FINE)}>+</Press>
        <Press id="card-much-larger" label={w.muchLarger} onPress={() => change(COARSE)}>+ +</Press>
      </div>
      <div class="to-hand">
        <Press id="card-drop" kind="quiet" onPress={() => onDone(null)}>{w.drop}</Press>
        <Press id="card-fits" kind="main" onPress={() => onDone(px.value)}>{w.fits}</Press>
      </div>
    </section>
  );
}
