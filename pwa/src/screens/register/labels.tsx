import "../../styles/registers.css";
import { useSignal } from "@preact/signals";
import { Press } from "../../parts/basics";
import { Choice, Select, TextField, Tick } from "../../parts/fields";
import { LABELLED, labelText, type Labelled } from "../../session/label-code";
import { inUse, things, type Kept } from "../../session/registers";
import { localNumbers, t } from "../../text";
import { href } from "../route";
import { factsOf } from "./describe";
import { codePath } from "./label-code-path";
import { cellOf, codeSide, EDGE_MM, moduleMm, PAGES, perPage, QUIET, SHEETS, wrapped, type LabelSheet } from "./label-sheets";

interface Item { kind: Labelled; id: string; thing: Kept }

/** A sheet of labels, to be printed at 100 % on a sheet that was bought for it. `only` names one thing: "eyewear:ID". */
export function Labels({ only }: { only: string | null }) {
  const w = t.registers.labels;
  const single = only?.includes(":") ? only : null;
  const kind = useSignal<Labelled>(LABELLED.find((one) => only?.startsWith(one)) ?? "eyewear");
  const sheetId = useSignal("a4-3x8");
  const skip = useSignal("0");
  const left = useSignal<Record<string, true>>({});
  const all: Item[] = things(kind.value).filter(({ thing }) => inUse(thing)).map(({ id, thing }) => ({ kind: kind.value, id, thing }));
  const offered = single ? all.filter(({ id }) => `${kind.value}:${id}` === single) : all;
  const chosen = offered.filter(({ id }) => !left.value[id]);
  const sheet = SHEETS.find(({ id }) => id === sheetId.value)!;
  const most = perPage(sheet) - 1;
  const free = /^\d{1,3}$/.test(skip.value.trim()) ? Number(skip.value) : null;
  const wrong = free === null || free > most ? w.skipWrong(most) : undefined;
  return (
    <div class="page labels-page">
      <div class="stack no-print">
        <h1>{w.title}</h1>
        <p class="soft">{w.lead}</p>
        {single ? null : <Choice id="labels-kind" legend={w.kind} across value={kind.value} onChange={(value) => { kind.value = value as Labelled; left.value = {}; }}
          options={LABELLED.map((value) => ({ value, text: t.registers.kinds[value].title }))} />}
        <Select id="labels-sheet" label={w.sheet} value={sheetId.value} onChange={(value) => { sheetId.value = value; }}
          options={SHEETS.map((one) => ({ value: one.id, text: w.sheetName(one.page === "a4" ? "A4" : "Letter", one.columns, one.rows, one.label_mm.map((mm) => localNumbers(String(mm))).join(" × ")) }))} />
        <TextField id="labels-skip" label={w.skip} hint={w.skipHint} mode="numeric" max={3} value={skip.value} wrong={wrong} onChange={(text) => { skip.value = text; }} />
        {offered.length > 1 ? <fieldset class="field" data-testid="labels-which"><legend>{w.which}</legend>
          <div class="choices">{offered.map(({ id, thing }) => (
            <Tick key={id} id={`label-${id}`} checked={!left.value[id]} onChange={(on) => { const { [id]: _, ...rest } = left.value; left.value = on ? rest : { ...rest, [id]: true }; }}>{thing.label}</Tick>))}</div>
        </fieldset> : null}
        {offered.length === 0 ? <p class="soft">{t.registers.empty}</p> : null}
        <p class="small soft">{w.says}</p>
        <div class="row">
          <Press id="labels-print" kind="main" disabled={chosen.length === 0 || wrong !== undefined} onPress={() => window.print()}>{w.print}</Press>
          <a class="button quiet" href={href("practice", "registers")}>{t.registers.title}</a>
        </div>
      </div>
      {wrong === undefined && chosen.length > 0 ? <Pages sheet={sheet} items={chosen} skip={free!} /> : null}
    </div>
  );
}

function Pages({ sheet, items, skip }: { sheet: LabelSheet; items: readonly Item[]; skip: number }) {
  const [width, height] = PAGES[sheet.page];
  const placed = items.map((item, n) => ({ item, cell: cellOf(sheet, n, skip) }));
  const pages = placed.at(-1)!.cell.page + 1;
  return (
    <div class={`label-pages ${sheet.page}`}>{Array.from({ length: pages }, (_, page) => (
      <svg key={page} class="label-page" data-testid="label-page" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={t.registers.labels.page(page + 1, pages)}>
        <rect width={width} height={height} fill="#ffffff" />
        {placed.filter(({ cell }) => cell.page === page).map(({ item, cell }) => <Label key={item.id} sheet={sheet} item={item} x={cell.x_mm} y={cell.y_mm} />)}
      </svg>
    ))}</div>
  );
}

function Label({ sheet, item, x, y }: { sheet: LabelSheet; item: Item; x: number; y: number }) {
  const [width, height] = sheet.label_mm;
  const { modules, path } = codePath(labelText(item));
  const side = codeSide(sheet);
  const scale = moduleMm(sheet, modules);
  const size = Math.min(4, side / 6);
  const from = x + EDGE_MM + side + 1;
  // How wide a bold letter is at most, on the average; a plain one is narrower, and smaller here.
  const letters = Math.max(4, Math.floor((x + width - EDGE_MM - from) / (size * 0.64)));
  const most = Math.max(1, Math.floor(side / (size * 1.25)));
  const named = wrapped(item.thing.label, letters, Math.max(1, Math.min(3, most - 1)));
  const facts = wrapped(factsOf(item.kind, item.thing), Math.floor(letters * 1.35), Math.max(0, most - named.length - 1));
  return (
    <g data-testid="label" data-says={labelText(item)}>
      <rect x={x + 0.3} y={y + 0.3} width={width - 0.6} height={height - 0.6} rx="1.5" fill="#ffffff" stroke="#8a8576" stroke-width="0.15" stroke-dasharray="0.8 1.2" />
      <g transform={`translate(${x + EDGE_MM + QUIET * scale} ${y + (height - side) / 2 + QUIET * scale}) scale(${scale})`}><path d={path} fill="#000000" shape-rendering="crispEdges" /></g>
      {named.map((line, n) => <text key={`n${n}`} x={from} y={y + (height - side) / 2 + size * (1 + n * 1.25)} font-size={size} font-weight="700" fill="#000000">{line}</text>)}
      {facts.map((line, n) => <text key={`f${n}`} x={from} y={y + (height - side) / 2 + size * (1 + named.length * 1.25) + size * n} font-size={size * 0.8} fill="#000000">{line}</text>)}
    </g>
  );
}
