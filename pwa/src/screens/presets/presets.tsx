import { Notice } from "../../parts/basics";
import { presetDocument } from "../../session/house_presets";
import { may } from "../../session/rights";
import { seat } from "../../session/state";
import { t } from "../../text";
import { useRegisters } from "../registers";
import { AllPresets } from "./all";
import { DraftScreen } from "./draft";
import { EditPreset } from "./edit";
import { PresetFiles } from "./files";
import { PresetList } from "./list";
import { OnePreset } from "./one";

/** The practice's presets: all of them, one of them, changing one, deciding about a draft, files. */
export function Presets({ preset_id, mode, event_id }: { preset_id: string | null; mode: string | null; event_id: string | null }) {
  const ready = useRegisters();
  if (ready !== true) return <div class="page">{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const writer = may("preset.write");
  if (preset_id === null) return <PresetList />;
  if (preset_id === "files" && seat.value === "desk") return <PresetFiles />;
  if (preset_id === "new" && writer) return <EditPreset known={null} draft={null} />;
  const known = presetDocument(preset_id);
  if (!known) return <div class="page"><h1>{t.presets.title}</h1><p data-testid="preset-unknown">{t.presets.unknown}</p><AllPresets /></div>;
  const draft = known.drafts.find((one) => one.event_id === event_id) ?? null;
  if (mode === "change" && writer) return <EditPreset known={known} draft={draft} />;
  if (mode === "draft" && draft) return <DraftScreen known={known} draft={draft} />;
  return <OnePreset known={known} />;
}

