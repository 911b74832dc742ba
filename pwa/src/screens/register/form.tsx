import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import { newId } from "../../events/ids";
import type { Certificate, EventType } from "../../events/catalogue";
import { Press } from "../../parts/basics";
import { More } from "../../parts/dose";
import { Select, TextField, Tick, Wrong } from "../../parts/fields";
import { QuantityField } from "../../parts/quantity";
import { atHand, letGo, sendAfter, sendBefore } from "../../session/certificates";
import { draft } from "../../session/draft";
import { house } from "../../session/house";
import { localDay } from "../../session/lists";
import { devices, inUse, sayOf } from "../../session/registers";
import { roomName, rooms } from "../../session/rooms";
import { person, writing, zone } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { DayField } from "../day";
import { PapersField } from "../upkeep/papers-field";
import { SamePlate } from "./same-plate";
import { filled, optionsOf, typedAt, unitsOf, valuesOf, type FieldSpec, type Section, type Values, type Wrong as WrongCode } from "./fields";

export const today = (): string => localDay(Date.now(), house.value.place?.zone ?? zone.value);

interface Kept { id: string; values: Values; key: string; papers?: readonly Certificate[] }
interface Props {
  /** What the draft is kept under, beside the person. */
  name: string;
  title: string;
  lead?: string;
  type: EventType;
  entity_id: string | null;
  sections: readonly Section[];
  /** What stands in the fields to begin with. */
  from: object | null;
  /** Said with it, whatever is typed. */
  more?: object;
  /** Certificates that it has so far; left out where none can be attached. */
  papers?: readonly Certificate[];
  save: string;
  done: () => void;
}

/** A form of a register: what is typed is kept until it is saved or dropped; what is wrong is said at its field. */
export function RegisterForm({ name, title, lead, type, entity_id, sections, from, more, papers: before, save, done }: Props) {
  const kept = draft<Kept | null>(`register:${person.value!.person_id}:${name}`, null);
  const tried = useSignal(false);
  const sending = useSignal(0);
  // One that is not kept yet keeps its ids all the same: a file that is chosen is kept under them.
  const begun = useRef<Kept | null>(null);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  begun.current ??= { id: entity_id ?? newId(), values: valuesOf(sections, from), key: newId() };
  const form = kept.value.value ?? begun.current;
  const papers = form.papers ?? before ?? [];
  const here = papers.every((one) => atHand(one, before ?? []));
  const { payload, wrong } = filled(sections, form.values, today());
  const set = (path: string, raw: string, rest: { unit?: string; sure?: true } = {}) =>
    kept.set({ ...form, values: { ...form.values, [path]: { raw, unit: rest.unit ?? "", ...(rest.sure ? { sure: true as const } : {}) } }, key: newId() });
  const back = () => { kept.clear(); done(); };
  const keep = () => {
    tried.value = true;
    if (Object.keys(wrong).length > 0 || !here) return;
    void attempt(async () => {
      try {
        if (before) await sendBefore(papers, (number) => { sending.value = number; });
        await sayOf(type, form.id, { ...more, ...payload, ...(before ? { certificates: papers } : {}) }, form.key);
      } finally {
        sending.value = 0;
      }
      // What is saved is saved: files that are not told now are told when the page is opened next.
      if (before) await sendAfter().catch(() => undefined);
    }).then((held) => { if (held) back(); });
  };
  // Files are looked at one after another, and meanwhile somebody may go on typing.
  const setPapers = (change: (papers: readonly Certificate[]) => readonly Certificate[]) => {
    const now = kept.value.value ?? form;
    kept.set({ ...now, papers: change(now.papers ?? before ?? []), key: newId() });
  };
  const drop = () => {
    for (const one of papers) if (!before?.some(({ sha256 }) => sha256 === one.sha256)) void letGo(one.sha256).catch(() => undefined);
    back();
  };
  const raw = (path: string): string => form.values[path]?.raw ?? "";
  const bad = tried.value ? Object.keys(wrong).length + (here ? 0 : 1) : 0;
  return (
    <form class="page narrow" onSubmit={(event) => { event.preventDefault(); keep(); }}>
      <h1>{title}</h1>
      {lead ? <p class="soft">{lead}</p> : null}
      {sections.map((section) => {
        const fields = section.fields.map((spec) => (
          <Field key={spec.path} spec={spec} values={form.values} set={set} wrong={tried.value || isTyped(form.values, spec) ? wrong[spec.path] : undefined} />
        ));
        const words = t.registers.sections[section.id] ?? (t.upkeep.sections as Readonly<Record<string, { title: string; lead: string }>>)[section.id];
        if (section.folded) return <More key={section.id} id={`register-${section.id}`} title={words?.title ?? ""} open={section.fields.some((spec) => wrong[spec.path] && tried.value)}>{fields}</More>;
        return sections.length > 1 && words
          ? <section key={section.id} class="stack"><h2>{words.title}</h2>{words.lead ? <p class="small soft">{words.lead}</p> : null}{fields}</section>
          : <div key={section.id} class="stack">{fields}</div>;
      })}
      {before ? <PapersField owner={form.id} papers={papers} before={before} sending={sending.value} onChange={setPapers} /> : null}
      {type === "device.registered" ? <SamePlate device_id={form.id} maker={raw("maker")} model={raw("model")} serial={raw("serial")} /> : null}
      {bad > 0 ? <Wrong id="register-wrong">{t.registers.lookAgain(bad)}</Wrong> : null}
      <div class="row"><Press id="register-save" kind="main" large disabled={busy.value || !writing.value} onPress={keep}>{save}</Press>
        <Press id="register-drop" kind="quiet" onPress={drop}>{t.registers.drop}</Press></div>
    </form>
  );
}

/** An empty field is not called wrong before somebody wanted to save. */
const isTyped = (values: Values, spec: FieldSpec): boolean => (values[spec.path]?.raw.trim() ?? "") !== "";

interface FieldProps { spec: FieldSpec; values: Values; set: (path: string, raw: string, rest?: { unit?: string; sure?: true }) => void; wrong: WrongCode | undefined }

function Field({ spec, values, set, wrong }: FieldProps) {
  const w = t.registers;
  const id = `register-${spec.path.replace(/[._]/g, "-")}`;
  const typed = typedAt(values, spec);
  const label = labelOf(spec);
  const hint = w.hints[spec.path] ?? (t.upkeep.hints as Record<string, string>)[spec.path];
  const said = wrong ? w.wrong[wrong] : undefined;
  switch (spec.kind) {
    case "text": case "note":
      return <TextField id={id} label={label} hint={hint} value={typed.raw} long={spec.kind === "note"} spell={spec.kind === "note"}
        max={spec.max ?? 2000} wrong={said} onChange={(raw) => set(spec.path, raw)} />;
    case "day":
      return <DayField id={id} label={label} {...(hint ? { hint } : {})} value={typed.raw} wrong={said} onChange={(raw) => set(spec.path, raw)} />;
    case "choice":
      return <Select id={id} label={label} value={typed.raw} wrong={said} onChange={(raw) => set(spec.path, raw)}
        options={optionsOf(spec, {
          devices: devices.value.filter(inUse).map((one) => ({ value: one.device_id, text: one.label })),
          rooms: rooms.value.map((room) => ({ value: room.room_id, text: roomName(room) })),
          people: house.value.people.map((one) => ({ value: one.person_id, text: one.display_name })),
        })} />;
    case "tick":
      return <div class="field"><Tick id={id} checked={typed.raw === "true"} onChange={(on) => set(spec.path, String(on))}>{label}</Tick>
        {hint ? <span class="hint">{hint}</span> : null}</div>;
    case "modes": {
      const chosen = typed.raw === "" ? [] : typed.raw.split(",");
      return (
        <fieldset class="field" data-testid={id}><legend>{label}</legend>
          <div class="choices">{Object.entries(t.plan.modes).map(([mode, words]) => (
            <Tick key={mode} id={`${id}-${mode}`} checked={chosen.includes(mode)}
              onChange={(on) => set(spec.path, Object.keys(t.plan.modes).filter((one) => (one === mode ? on : chosen.includes(one))).join(","))}>{words}</Tick>))}</div>
          {said ? <Wrong id={`${id}-wrong`}>{said}</Wrong> : null}
        </fieldset>
      );
    }
    default:
      return <QuantityField id={id} label={label} hint={hint} typed={{ ...typed, unit: typed.unit || unitsOf(spec)[0]! }} units={unitsOf(spec)} zero={spec.zero ?? false}
        wrong={said && wrong !== "unreadable" ? said : undefined}
        onChange={(next) => set(spec.path, next.raw, { unit: next.unit, ...(next.sure ? { sure: true } : {}) })} />;
  }
}

/** What a field is called; the ends of a limit by what is limited, how something is known by what it is. */
export function labelOf({ path }: Pick<FieldSpec, "path">): string {
  const w = t.registers;
  const parts = path.split(".");
  if (parts[0] === "limits") return w.limit(w.limits[parts[1]!] ?? parts[1]!, parts[2] === "min");
  const name = parts.at(-1)!;
  if (parts[0] === "power_before" || parts[0] === "power_after") return t.upkeep.powers[`${parts[0]}.${name}`]!;
  if (parts[0] === "optics_known") return w.howKnown(w.fields[name] ?? name);
  if (name.endsWith("_known") && parts.length > 1) return w.howKnown(w.fields[name.replace(/_known$/, "")] ?? name);
  return w.fields[path] ?? w.fields[name] ?? (t.upkeep.fields as Record<string, string>)[name] ?? name;
}
