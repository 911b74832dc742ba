import "../../styles/presets.css";
import { Mark } from "../../parts/basics";
import { compared } from "../../session/presets";
import type { Preset } from "../../session/types";
import { t } from "../../text";
import { fieldName, fieldText } from "./names";

/** Two presets, field by field; what differs is said in a word and a shape at the field. */
export function SideBySide({ left, right, leftTitle, rightTitle }: {
  left: Partial<Preset>; right: Partial<Preset>; leftTitle: string; rightTitle: string;
}) {
  const all = compared(left, right);
  // What has to be decided about stands first.
  const rows = [...all.filter((row) => row.differs), ...all.filter((row) => !row.differs)];
  return (
    <div class="stack both-box" data-testid="preset-side">
      <p class="strong" data-testid="preset-differing">{t.presets.differing(rows.filter((row) => row.differs).length)}</p>
      <table class="both">
        <thead><tr><th scope="col"><span class="hidden-text">{t.presets.field}</span></th><th scope="col">{leftTitle}</th><th scope="col">{rightTitle}</th></tr></thead>
        <tbody>{rows.map(({ path, left: own, right: other, differs }) => (
          <tr key={path} class={differs ? "differs" : ""} data-testid={differs ? "field-differs" : "field-same"}>
            <th scope="row">{fieldName(path)}{differs ? <Mark shape="note">{t.presets.differs}</Mark> : null}</th>
            <td class="num" data-label={leftTitle}>{fieldText(path, own)}</td>
            <td class="num" data-label={rightTitle}>{fieldText(path, other)}</td>
          </tr>
        ))}</tbody>
      </table>
    </div>
  );
}
