/** Screens that are fetched when they are first gone to; the service worker keeps every one of them. */
import { signal } from "@preact/signals";
import type { FunctionComponent } from "preact";
import { Notice, Press } from "../parts/basics";
import { allWords, t } from "../text";

export type Load<P> = () => Promise<FunctionComponent<P>>;
export type Lazy<P> = FunctionComponent<P> & { load: () => Promise<void> };

/** A component that fetches itself; one that cannot be fetched says so instead of staying blank. */
export function lazy<P extends object>(load: Load<P>): Lazy<P> {
  const got = signal<{ screen: FunctionComponent<P> } | "failed" | null>(null);
  let asked: Promise<void> | null = null;
  const fetchOnce = () => {
    // Its module may hold parts of the words, so those come first.
    asked ??= allWords().then(load).then(
      (screen) => { got.value = { screen }; },
      () => { got.value = "failed"; asked = null; });
    return asked;
  };
  const Shown = (props: P) => {
    const now = got.value;
    if (now === "failed") return <Unfetched />;
    if (now) return <now.screen {...props} />;
    void fetchOnce();
    return <div class="page"><p role="status">{t.common.loading}</p></div>;
  };
  return Object.assign(Shown, { load: fetchOnce });
}

/** The part is no longer on the server, or there is no network and it was never kept. */
function Unfetched() {
  return (
    <div class="page narrow">
      <h1>{t.common.partMissing}</h1>
      <Notice shape="warn" id="part-missing" live>
        <p>{t.common.partMissingMore}</p>
        <Press id="part-reload" kind="main" onPress={() => location.reload()}>{t.common.reloadPage}</Press>
      </Notice>
    </div>
  );
}
