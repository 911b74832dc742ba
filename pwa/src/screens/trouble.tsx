import { Notice, Press } from "../parts/basics";
import { person } from "../session/state";
import { t } from "../text";
import { trouble } from "./attempt";

// What one person could not do is not told to the next.
person.subscribe((who) => { if (who === null) trouble.value = null; });

/** What could not be done, in words, until it is closed. */
export function Trouble() {
  if (!trouble.value) return null;
  return (
    <div class="strip"><Notice shape="warn" id="trouble" live><p>{trouble.value}</p>
      <Press id="trouble-close" onPress={() => { trouble.value = null; }}>{t.common.close}</Press></Notice></div>
  );
}
