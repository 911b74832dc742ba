import { useSignal } from "@preact/signals";
import { nowText } from "../../events/times";
import { Notice, Press } from "../../parts/basics";
import { isDeviceKind } from "../../session/check-verdict";
import { person } from "../../session/state";
import type { ListItem, ListVersion } from "../../session/types";
import { t } from "../../text";
import type { Answer, Answers } from "./answers";
import { Beside } from "../checks/beside";
import { checkBoardWords } from "../checks/words";
import { Board } from "./board";

/** The list as the chair will see it: the same board, whose answers go nowhere. */
export function Preview({ version, kind, onBack }: { version: ListVersion; kind: string; onBack: () => void }) {
  const answers = useSignal<Answers>({});
  const put = (item: ListItem, change: Partial<Answer>) => {
    answers.value = { ...answers.value, [item.item_id]: { ...answers.value[item.item_id]!, ...change } };
  };
  const again = (item: ListItem) => {
    const { [item.item_id]: _gone, ...rest } = answers.value;
    answers.value = rest;
  };
  return (
    <div class="page">
      <Notice calm id="list-preview-note">
        <p class="strong">{t.lists.previewTitle}</p>
        <p class="small">{t.lists.previewNote}</p>
        <Press id="list-preview-back" onPress={onBack}>{t.lists.editAgain}</Press>
      </Notice>
      <Board id="preview" list={version} answers={answers.value} bar={false} lead={kind === "time_out" ? t.lists.aloud : t.lists.quietly}
        beside={(item) => <Beside item={item} device_id={null} />} {...(isDeviceKind(kind) ? { words: checkBoardWords() } : {})}
        answer={(item, answer) => put(item, { answer, answered_at: nowText(), by: person.value!.person_id, note: null, typed: "", later: false })}
        type={(item, typed) => put(item, { typed })}
        reason={(item) => put(item, { note: answers.value[item.item_id]!.typed.trim() })}
        later={(item) => put(item, { later: true })} again={again}
        summary={<p class="small">{t.lists.previewEnd}</p>}
        finish={<Press id="preview-again" large onPress={() => { answers.value = {}; }}>{t.lists.previewAgain}</Press>} />
    </div>
  );
}
