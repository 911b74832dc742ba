import "../../styles/registers.css";
import { newId } from "../../events/ids";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField, Tick } from "../../parts/fields";
import { draft } from "../../session/draft";
import { house, personName } from "../../session/house";
import { dueRuleDocuments, inUse, inventories, REGISTERS, sayOf, things, type Counted, type Inventory, type KeptHandpiece, type RegisterKind } from "../../session/registers";
import { may } from "../../session/rights";
import { person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { DayField, dayText } from "../day";
import { href } from "../route";
import { csv } from "./csv";
import { factsOf, troubleOf, usesText, whereOf } from "./describe";
import { today } from "./form";

interface Kept { id: string; seen: Record<string, boolean>; day: string; note: string; key: string }
interface Line { kind: RegisterKind; id: string; label: string; facts: string; where: string | null; state: string }

/** On whose word a yearly inventory is made, until the practice says otherwise (read in secondary copies). */
const CITATION = "25 TAC 289.301(j)";
/** As many as an entry carries. */
const MOST = 150;

/** Everything that is in use, by kind, to be seen once a year: on screen, on paper, in a table. */
export function InventorySheet() {
  const w = t.registers.inventory;
  const kept = draft<Kept | null>(`inventory:${person.value!.person_id}`, null);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const form = kept.value.value ?? { id: newId(), seen: {}, day: today(), note: "", key: newId() };
  const set = (part: Partial<Kept>) => kept.set({ ...form, ...part, key: newId() });
  const lines = REGISTERS.flatMap((kind) => things(kind).filter(({ thing }) => inUse(thing)).map(({ id, thing }): Line => ({
    kind, id, label: thing.label, facts: factsOf(kind, thing), where: whereOf(kind, thing),
    state: [troubleOf(kind, thing, today()), kind === "handpiece" ? usesText(thing as KeptHandpiece) : null].filter(Boolean).join(", "),
  })));
  const citation = dueRuleDocuments.value.find((one) => one.due_rule_id === "inventory")?.citation ?? CITATION;
  const place = [house.value.place?.practice_name, house.value.place?.name].filter(Boolean).join(", ");
  const unseen = lines.filter(({ kind, id }) => !form.seen[`${kind}:${id}`]);
  const ahead = form.day > today();
  const wrong = ahead ? t.registers.wrong.ahead : form.day === "" ? t.registers.wrong.missing : undefined;
  const items = (): Counted[] => lines.map(({ kind, id, label, where, state }) =>
    ({ kind, subject_id: id, label: label.slice(0, 400), where: where?.slice(0, 400) ?? null, state: state.slice(0, 400) || null, seen: Boolean(form.seen[`${kind}:${id}`]) }));
  const save = () => void attempt(() => sayOf("inventory.taken", form.id, { seen_on: form.day, items: items(), citation, note: form.note.trim() || null }, form.key))
    .then((held) => { if (held) kept.clear(); });
  const table = () => download(csv([
    [w.columns.kind, w.columns.label, w.columns.facts, w.columns.where, w.columns.state, w.columns.seen, w.columns.id],
    ...lines.map((one) => [t.registers.kinds[one.kind].one, one.label, one.facts, one.where, one.state, form.seen[`${one.kind}:${one.id}`] ? w.yes : w.no, one.id]),
  ]));
  return (
    <div class="page inventory">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead(citation)}</p>
      <p class="strong">{place}, {dayText(form.day || today())}</p>
      <Last />
      {lines.length === 0 ? <p class="soft">{t.registers.empty}</p> : (
        <div class="scroll"><table class="inventory-table" data-testid="inventory-table">
          <thead><tr><th scope="col">{w.columns.seen}</th><th scope="col">{w.columns.kind}</th><th scope="col">{w.columns.facts}</th><th scope="col">{w.columns.where}</th><th scope="col">{w.columns.state}</th></tr></thead>
          <tbody>{lines.map((one) => (
            <tr key={`${one.kind}:${one.id}`} data-testid="inventory-line">
              <td><Tick id={`seen-${one.kind}-${one.id}`} checked={Boolean(form.seen[`${one.kind}:${one.id}`])}
                onChange={(on) => set({ seen: { ...form.seen, [`${one.kind}:${one.id}`]: on } })}><span class="strong">{one.label}</span></Tick></td>
              <td>{t.registers.kinds[one.kind].one}</td><td>{one.facts}</td><td>{one.where ?? t.common.notStated}</td><td>{one.state}</td>
            </tr>))}</tbody>
        </table></div>
      )}
      <p class="only-print">{w.signHere}</p>
      <div class="stack no-print">
        {may("register.note") && lines.length > 0 ? <section class="sheet"><h2>{w.note}</h2>
          <DayField id="inventory-day" label={w.day} value={form.day} wrong={wrong} onChange={(day) => set({ day })} />
          <TextField id="inventory-note" label={t.registers.fields["note"]!} value={form.note} long spell max={2000} onChange={(note) => set({ note })} />
          {unseen.length > 0 ? <p class="small" data-testid="inventory-unseen"><Mark shape="note">{w.unseen(unseen.length)}</Mark></p> : null}
          {lines.length > MOST ? <Notice shape="warn"><p>{w.tooMany(MOST)}</p></Notice> : null}
          <Press id="inventory-save" kind="main" disabled={wrong !== undefined || lines.length > MOST || unseen.length === lines.length || busy.value || !writing.value} onPress={save}>{w.save}</Press>
        </section> : null}
        <div class="row">
          <Press id="inventory-print" onPress={() => window.print()}>{w.print}</Press>
          <Press id="inventory-csv" onPress={table}>{w.table}</Press>
          <a class="button quiet" href={href("practice", "registers")}>{t.registers.title}</a>
        </div>
      </div>
    </div>
  );
}

/** When it was made last, by whom, and what was not found then. */
function Last() {
  const w = t.registers.inventory;
  const last: Inventory | undefined = inventories.value[0];
  if (!last) return <p><Mark shape="wait" id="inventory-last">{w.never}</Mark></p>;
  const missing = last.items.filter(({ seen }) => !seen).map(({ label }) => label);
  return (
    <p data-testid="inventory-last"><Mark shape="done">{w.last(dayText(last.seen_on), personName(last.by) ?? t.common.unknownPerson)}</Mark>{" "}
      <span class="small soft">{momentText(last.at)}{missing.length > 0 ? `. ${w.notSeen(missing.join(", "))}` : ""}</span></p>
  );
}

function download(text: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "text/csv;charset=utf-8" }));
  link.download = `inventory-${today()}.csv`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
