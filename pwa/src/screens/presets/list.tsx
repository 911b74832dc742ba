import { useSignal } from "@preact/signals";
import { Glyph, Mark, Press } from "../../parts/basics";
import { More } from "../../parts/dose";
import { Select, TextField } from "../../parts/fields";
import { kindsOffered, presetDocuments, refusedHere, titleOf, waitsHere } from "../../session/house_presets";
import { matches } from "../../session/presets";
import { may } from "../../session/rights";
import { seat, writing } from "../../session/state";
import type { Preset, PresetDocument } from "../../session/types";
import { t } from "../../text";
import { OffersWait } from "../group/offers";
import { go, href } from "../route";
import { Lines } from "./choose";
import { searchText } from "./names";

export function PresetList() {
  const typed = useSignal("");
  const kind = useSignal("");
  const all = presetDocuments.value;
  const found = all.filter((one) => (!kind.value || shownOf(one)?.procedure_kind_id === kind.value) && matches(textOf(one), typed.value));
  const toDecide = found.filter((one) => one.drafts.length > 0);
  const rest = found.filter((one) => one.drafts.length === 0);
  const writer = may("preset.write");
  return (
    <div class="page">
      <h1>{t.presets.title}</h1>
      <p class="soft">{t.presets.lead}</p>
      <OffersWait kind="preset" />
      <div class="row">
        {writer ? <Press id="preset-new" kind="main" disabled={!writing.value} onPress={() => go("practice", "presets", "new")}>{t.presets.make}</Press> : null}
        {seat.value === "desk" ? <a class="button" href={href("practice", "presets", "files")} data-testid="preset-files">{t.presets.files}</a> : null}
      </div>
      {all.length > 0 ? (
        <div class="find">
          <TextField id="presets-search" kind="search" label={t.presets.search} hint={t.presets.searchHint} value={typed.value} onChange={(value) => { typed.value = value; }} max={80} />
          <Select id="presets-kind" label={t.presets.kind} value={kind.value} onChange={(value) => { kind.value = value; }}
            options={[{ value: "", text: t.presets.anyKind }, ...kindsOffered.value.map((k) => ({ value: k.procedure_kind_id, text: k.text }))]} />
        </div>
      ) : null}
      {all.length === 0 ? <p data-testid="presets-none">{t.presets.none}</p> : found.length === 0 ? <p role="status" data-testid="presets-none-found">{t.presets.noneFound}</p> : null}
      <Group id="presets-to-decide" title={t.presets.toDecide} list={toDecide} />
      <Group id="presets-in-force" title={t.presets.inForce} list={rest.filter((one) => one.status === "current")} />
      {rest.some((one) => one.status === "withdrawn") ? (
        <More id="presets-withdrawn" title={t.presets.withdrawn} open={typed.value.trim() !== ""}><Rows list={rest.filter((one) => one.status === "withdrawn")} /></More>
      ) : null}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

/** What stands for a preset in the list: the version in force, else its newest draft. */
const shownOf = (one: PresetDocument): Preset | null =>
  (one.version != null ? one as unknown as Preset : one.drafts[one.drafts.length - 1]) ?? null;

const textOf = (one: PresetDocument): string => {
  const shown = shownOf(one);
  return shown ? searchText(shown) : "";
};

function Group({ id, title, list }: { id: string; title: string; list: readonly PresetDocument[] }) {
  if (list.length === 0) return null;
  return <section class="stack" data-testid={id} aria-label={title}><h2>{title}</h2><Rows list={list} /></section>;
}

function Rows({ list }: { list: readonly PresetDocument[] }) {
  return (
    <ul class="list">{list.map((one) => {
      const shown = shownOf(one);
      return (
        <li key={one.preset_id}>
          <a class="item" href={href("practice", "presets", one.preset_id)} data-testid="preset-row">
            <span class="stack grow">{shown ? <Lines preset={shown} /> : <span class="strong">{titleOf(one)}</span>}<StateOf known={one} /></span><Glyph shape="turn" />
          </a>
        </li>
      );
    })}</ul>
  );
}

/** What is to be known of a preset besides its values. */
export function StateOf({ known }: { known: PresetDocument }) {
  const refused = refusedHere(known.preset_id);
  return (
    <>
      {known.status === "withdrawn" ? <Mark shape="stop" id="preset-withdrawn">{t.presets.isWithdrawn}</Mark> : null}
      {known.drafts.length > 0 ? <Mark shape="warn" id="preset-drafts">{t.presets.drafts(known.drafts.length)}</Mark> : null}
      {waitsHere(known.preset_id) ? <Mark shape="tablet" id="preset-waits">{t.presets.waits}</Mark> : null}
      {refused ? <Mark shape="warn" id="preset-refused">{t.presets.refused(refused)}</Mark> : null}
    </>
  );
}
