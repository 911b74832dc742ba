import { Notice } from "../../parts/basics";
import { t } from "../../text";

/** What comes before any form: common practice, no source. The practice's own rule comes first. */
export function FirstAid() {
  const w = t.upkeep.firstAid;
  return (
    <Notice shape="stop" id="first-aid">
      <h2>{w.title}</h2>
      <ol class="stack">{w.first.map((step) => <li key={step} class="strong">{step}</li>)}</ol>
      <dl class="facts">{w.then.map(([what, todo]) => [<dt key={what}>{what}</dt>, <dd key={`${what}-todo`}>{todo}</dd>])}</dl>
      <p>{w.own}</p>
    </Notice>
  );
}
