import { useSignal } from "@preact/signals";
import { Glyph, Mark, Notice, Press, type Shape } from "../../parts/basics";
import { More } from "../../parts/dose";
import { newId } from "../../events/ids";
import { loadDeskRegisters } from "../../session/house";
import { presetsInForce } from "../../session/house_presets";
import { may } from "../../session/rights";
import { exportPresets, importPresets, type FileFormat, type Imported, type ImportedRow } from "../../sync/presets";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { AllPresets } from "./all";
import { fieldName } from "./names";

const MOST_BYTES = 512 * 1024;
const COLUMNS = [
  "preset_id", "version", "name", "procedure_kind_id", "procedure", "device_id", "laser", "handpiece_id", "handpiece", "spot_known", "focus", "coolant",
  "note", "reviewed_by", "reviewer", "wavelength", "emission.mode", "emission.power_kind", "emission.pulse_shape", "emission.power", "emission.average_power",
  "emission.peak_power", "emission.pulse_energy", "emission.pulse_duration", "emission.repetition_rate", "emission.pulse_period", "emission.duty_cycle",
  "emission.gate_on", "emission.gate_off", "spot.diameter", "spot.diameter_definition", "motion.speed",
];

/** Presets out into files, and out of files into the practice: looked at first, then all rows or none. */
export function PresetFiles() {
  const saved = useSignal<string | null>(null);
  const save = (format: FileFormat) => void attempt(async () => {
    const content = await exportPresets(format);
    const name = `presets.${format}`;
    const link = document.createElement("a");
    link.href = URL.createObjectURL(content);
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    saved.value = name;
  });
  return (
    <div class="page">
      <h1>{t.presets.filesTitle}</h1>
      <p class="soft">{t.presets.filesLead}</p>
      <div class="two">
        <section class="sheet">
          <h2>{t.presets.exportTitle}</h2>
          <p>{t.presets.exportLead(presetsInForce.value.length)}</p>
          <Press id="export-csv" disabled={busy.value} onPress={() => save("csv")}>{t.presets.exportCsv}</Press>
          <Press id="export-json" disabled={busy.value} onPress={() => save("json")}>{t.presets.exportJson}</Press>
          <p role="status" class="small" data-testid="export-said">{saved.value ? t.presets.saved(saved.value) : ""}</p>
        </section>
        {may("preset.write") ? <Import /> : null}
      </div>
      <AllPresets />
    </div>
  );
}

interface Chosen { name: string; format: FileFormat; content: string; key: string; answer: Imported }

function Import() {
  const chosen = useSignal<Chosen | null>(null);
  const wrong = useSignal<string | null>(null);
  const done = useSignal<number | null>(null);
  const looking = useSignal(false);
  const look = (file: File) => void attempt(async () => {
    looking.value = true;
    chosen.value = null;
    done.value = null;
    wrong.value = null;
    if (file.size > MOST_BYTES) { wrong.value = t.presets.tooLarge; return; }
    const format: FileFormat = file.name.toLowerCase().endsWith(".json") ? "json" : "csv";
    let content: string;
    try {
      content = new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer());
    } catch {
      wrong.value = t.presets.notUtf8;
      return;
    }
    try {
      chosen.value = { name: file.name, format, content, key: newId(), answer: await importPresets(format, content, null) };
    } catch (error) {
      const { code, message } = error as { code?: string; message: string };
      if (code !== "file_unreadable" && code !== "invalid") throw error;
      wrong.value = message;
    }
  }).finally(() => { looking.value = false; });
  const publish = (one: Chosen) => void attempt(async () => {
    const answer = await importPresets(one.format, one.content, one.key);
    done.value = answer.rows.filter((row) => row.event_id !== null).length;
    chosen.value = null;
    await loadDeskRegisters().catch(() => undefined);
  });
  return (
    <section class="sheet">
      <h2>{t.presets.importTitle}</h2>
      <p class="small">{t.presets.importLead}</p>
      <More id="import-columns" title={t.presets.columns}><p class="small pre num">{COLUMNS.join(", ")}</p></More>
      <div class="field">
        <label for="import-file">{t.presets.pickFile}</label>
        <input id="import-file" data-testid="import-file" type="file" accept=".csv,.json,text/csv,application/json" aria-describedby="import-said"
          onChange={(e) => { const file = e.currentTarget.files?.[0]; if (file) look(file); e.currentTarget.value = ""; }} />
        <div id="import-said" role="status">
          {looking.value ? <span class="small">{t.presets.looking}</span> : null}
          {wrong.value ? <span class="wrong" data-testid="import-wrong"><Glyph shape="warn" /><span>{wrong.value}</span></span> : null}
          {done.value !== null ? <Mark shape="done" id="import-done">{t.presets.done(done.value)}</Mark> : null}
        </div>
      </div>
      {chosen.value ? <Looked chosen={chosen.value} onPublish={publish} /> : null}
    </section>
  );
}

const SHAPES: Record<string, Shape> = { new: "done", "new version": "done", same: "off", refused: "stop" };

function Looked({ chosen, onPublish }: { chosen: Chosen; onPublish: (one: Chosen) => void }) {
  const { rows } = chosen.answer;
  const of = (outcome: string) => rows.filter((row) => row.outcome === outcome).length;
  const made = of("new") + of("new version");
  const refused = of("refused");
  return (
    <div class="stack" data-testid="import-looked">
      <h3>{t.presets.lookedAt(chosen.name)}</h3>
      <p class="strong" data-testid="import-sum">{t.presets.sum(made, of("same"), refused)}</p>
      <ul class="list">{rows.map((row) => <Row key={row.row} row={row} />)}</ul>
      {refused > 0 ? <Notice shape="stop" id="import-refused"><p>{t.presets.refusedRows}</p></Notice>
        : made === 0 ? <p class="small soft" data-testid="import-nothing">{t.presets.nothingToDo}</p>
        : <Press id="import-go" kind="main" wide disabled={busy.value} onPress={() => onPublish(chosen)}>{t.presets.doIt(made)}</Press>}
    </div>
  );
}

function Row({ row }: { row: ImportedRow }) {
  const outcome = t.presets.outcomes[row.outcome] ?? row.outcome;
  return (
    <li class="item" data-testid="import-row">
      <span class="grow lines">
        <span class="small soft">{t.presets.row(row.row)}</span>
        <span class="strong">{row.name}</span>
        {Object.entries(row.errors).map(([column, said]) => (
          <span key={column} class="small" data-testid="import-error"><strong>{fieldName(column)}</strong> <span class="soft">({column})</span>: {said.join(" ")}</span>
        ))}
        <Mark shape={SHAPES[row.outcome] ?? "note"}>{row.version !== null && row.outcome !== "same" ? t.presets.outcomeVersion(outcome, row.version) : outcome}</Mark>
      </span>
    </li>
  );
}
