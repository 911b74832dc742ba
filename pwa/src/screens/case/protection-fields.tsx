import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { Choice, TextField, Wrong } from "../../parts/fields";
import { Tapped } from "../../parts/tapped";
import { house } from "../../session/house";
import { offered, sameEyewear, usedBefore, withoutUnfit, withRegistered, type UsedBefore } from "../../session/protection";
import { covers, eyewear, wearable } from "../../session/registers";
import { allRecords } from "../../session/state";
import { localNumbers, t } from "../../text";
import { asWorn, whyNotAgain, whyNotWorn } from "../register/worn";
import { Scan } from "../register/scan";
import { chosenBy, uncovered, wellDensity, withHead, withoutHead, written, type ProtectionForm, type Worn } from "./protection-form";

/** As many as stand under one head without scrolling on a phone. */
const OFFERED = 5;
const OTHER = "other";

interface Props {
  form: ProtectionForm;
  set: (form: ProtectionForm) => void;
  /** Of the laser of this case: eyewear that is not marked for it is not offered. */
  wavelength?: string | null | undefined;
}

/** What was used here before is a tap; everything else is written. Each head is said for itself. */
export function ProtectionFields({ form, set, wavelength }: Props) {
  const words = t.course.protection;
  const fit = eyewear.value.filter((piece) => wearable(piece) && (!wavelength || covers(piece, wavelength) !== false));
  const again = withoutUnfit(usedBefore(allRecords.value), (one) => whyNotAgain(one, eyewear.value, wavelength ?? null) !== null);
  const used = withRegistered(again, fit.map(asWorn));
  const change = (at: number, part: Partial<Worn>) =>
    set({ ...form, worn: form.worn.map((one, i) => (i === at ? { ...one, ...part } : one)) });
  const lacking = uncovered(form);
  return (
    <>
      <div class="stepper" role="group" aria-label={words.heads}>
        <Press id="heads-minus" label={words.fewer} disabled={form.heads <= 1} onPress={() => set({ ...form, heads: form.heads - 1 })}>−</Press>
        <span class="strong num" data-testid="heads" aria-live="polite">{words.heads}: {form.heads}</span>
        <Press id="heads-plus" label={words.more} disabled={form.heads >= 20} onPress={() => set({ ...form, heads: form.heads + 1 })}>+</Press>
      </div>
      <h2>{words.eyewear}</h2>
      {form.worn.map((_, i) => (
        <Head key={i} at={i} form={form} used={used} wavelength={wavelength ?? null} change={(part) => change(i, part)} drop={() => set(withoutHead(form, i))} />
      ))}
      <Press id="worn-add" onPress={() => set(withHead(form))}>{words.add}</Press>
      {lacking > 0 ? <Notice shape="warn" id="eyewear-missing"><p>{words.missing(lacking)}</p></Notice> : null}
      <Tapped id="evacuator" label={words.evacuator} hint={words.evacuatorHint} value={form.evacuator} known={[...used.evacuators, words.usualEvacuator]}
        onChange={(evacuator) => set({ ...form, evacuator })} />
      <Tapped id="masks" label={words.masks} value={form.masks} known={[...used.masks, ...Object.values(words.usualMasks)]}
        onChange={(masks) => set({ ...form, masks })} />
      <TextField id="deviations" label={words.deviations} hint={words.deviationsHint} value={form.deviations} onChange={(deviations) => set({ ...form, deviations })} max={1000} spell />
    </>
  );
}

interface HeadProps { at: number; form: ProtectionForm; used: UsedBefore; wavelength: string | null; change: (part: Partial<Worn>) => void; drop: () => void }

/** One head: which of the practice's eyewear it wears. */
function Head({ at, form, used, wavelength, change: put, drop }: HeadProps) {
  const words = t.course.protection;
  const one = form.worn[at]!;
  const unfit = useSignal<string | null>(null);
  const change = (part: Partial<Worn>) => { unfit.value = null; put(part); };
  const read = (id: string) => {
    const piece = eyewear.value.find(({ eyewear_id }) => eyewear_id === id);
    const against = whyNotWorn(piece, wavelength);
    if (piece && against === null) change({ ...written(asWorn(piece)), eyewear_id: piece.eyewear_id, other: false });
    else unfit.value = against;
  };
  const chosen = chosenBy(one);
  const against = unfit.value ?? (chosen && whyNotAgain(chosen, eyewear.value, wavelength));
  const options = offered(used, one.wearer, chosen, OFFERED);
  const place = chosen && !one.other ? options.findIndex((known) => sameEyewear(known, chosen)) : -1;
  const writing = one.other || options.length === 0 || (chosen !== null && place < 0);
  const who = one.wearer.trim() || words.someone(at + 1);
  const pick = (value: string) => change(value === OTHER ? { label: "", wavelength: "", density: "", eyewear_id: null, other: true }
    : { eyewear_id: null, ...written(options[Number(value)]!), other: false });
  const under = (label: string, marks: readonly (string | null)[]) => {
    const also = form.worn.find((line, i) => i !== at && line.label.trim() === label);
    return [...marks, also ? words.alsoBy(also.wearer) : null].filter(Boolean).join(", ") || undefined;
  };
  return (
    <div class="sheet" data-testid="worn">
      {one.added ? <Wearer at={at} form={form} change={change} /> : null}
      {options.length > 0 ? (
        <Choice id={`worn-${at}`} legend={who} across value={writing ? OTHER : String(place)} onChange={pick}
          options={[...options.map((known, i) => ({ value: String(i), text: known.label,
            under: under(known.label, [known.wavelength, known.optical_density && words.densityShort(localNumbers(known.optical_density))]) })),
          { value: OTHER, text: words.other }]} />
      ) : one.added ? null : <h3>{who}</h3>}
      {writing ? (
        <div class="worn">
          {one.added ? null : <TextField id={`worn-wearer-${at}`} label={words.wearer} value={one.wearer} onChange={(wearer) => change({ wearer })} max={80} />}
          <TextField id={`worn-label-${at}`} label={words.label} hint={words.labelHint} value={one.label} onChange={(label) => change({ label, eyewear_id: null, other: true })} max={80} />
          <TextField id={`worn-wavelength-${at}`} label={words.wavelength} value={one.wavelength} onChange={(text) => change({ wavelength: text, eyewear_id: null, other: true })} max={60} />
          <TextField id={`worn-density-${at}`} label={words.density} mode="decimal" value={one.density} onChange={(density) => change({ density, eyewear_id: null, other: true })} max={10}
            wrong={wellDensity(one.density) ? undefined : words.densityWrong} />
        </div>
      ) : null}
      {eyewear.value.length > 0 ? <Scan id={`worn-scan-${at}`} kind="eyewear" onFound={read} /> : null}
      {against ? <Wrong id={`worn-unfit-${at}`}>{against}</Wrong> : null}
      <Press id={`worn-drop-${at}`} kind="quiet" onPress={drop}>{words.drop(who)}</Press>
    </div>
  );
}

/** Whose head it is: somebody of the practice, somebody with the patient, or as written. */
function Wearer({ at, form, change }: { at: number; form: ProtectionForm; change: (part: Partial<Worn>) => void }) {
  const words = t.course.protection;
  const there = new Set(form.worn.flatMap((line, i) => (i === at ? [] : line.wearer)));
  const people = house.value.people.filter((p) => p.roles.some((role) => role === "clinician" || role === "assistant")).map((p) => p.display_name);
  return <Tapped id={`worn-wearer-${at}`} label={words.wearer} value={form.worn[at]!.wearer} known={[...people.filter((name) => !there.has(name)), words.companion]}
    most={6} max={80} onChange={(wearer) => change({ wearer })} />;
}
