/** What stands around a screen: the way past the bars, the screen itself, and the navigation. */
import type { ComponentChildren } from "preact";
import { useEffect, useErrorBoundary, useRef } from "preact/hooks";
import { Notice, Press } from "../parts/basics";
import { t } from "../text";
import { href, route } from "./route";
import { find, type Route } from "./routes";

/** The first stop of the Tab key. The address stays as it is: it says which screen this is. */
export function SkipLink() {
  return <a class="skip" href="#main" data-testid="skip" onClick={(e) => { e.preventDefault(); focusScreen(); }}>{t.common.skip}</a>;
}

function focusScreen(): void {
  const main = document.getElementById("main");
  const target = main?.querySelector<HTMLElement>("h1") ?? main;
  if (!target) return;
  target.tabIndex = -1;
  target.focus({ preventScroll: target !== main });
}

/** The screen at the address; on a change the keyboard and the screen reader go to its heading. */
export function ScreenAt({ routes }: { routes: readonly Route[] }) {
  const main = useRef<HTMLElement>(null);
  const address = route.value.join("/");
  const shown = useRef(address);
  const { screen: Screen, named } = find(routes, route.value);
  useEffect(() => {
    if (shown.current === address) return;
    shown.current = address;
    return whenThere(main.current!, () => {
      // A screen may have put the cursor where it belongs already.
      if (!main.current?.contains(document.activeElement)) focusScreen();
    });
  }, [address]);
  return <main id="main" ref={main} tabIndex={-1}><Guarded key={address}><Screen {...named} /></Guarded></main>;
}

/** A screen that cannot be drawn says so, and leaves the others and the lock in reach. */
function Guarded({ children }: { children: ComponentChildren }) {
  const [failed] = useErrorBoundary();
  if (!failed) return <>{children}</>;
  return (
    <div class="page narrow">
      <h1>{t.common.screenFailed}</h1>
      <Notice shape="warn" id="screen-failed" live>
        <p>{t.common.screenFailedMore}</p>
        <Press id="screen-reload" kind="main" onPress={() => location.reload()}>{t.common.reloadPage}</Press>
      </Notice>
    </div>
  );
}

/** Run `then` once a heading stands in `root`; a screen that is being fetched has none yet. */
function whenThere(root: HTMLElement, then: () => void): () => void {
  if (root.querySelector("h1")) {
    then();
    return () => undefined;
  }
  const watch = new MutationObserver(() => {
    if (!root.querySelector("h1")) return;
    watch.disconnect();
    then();
  });
  watch.observe(root, { childList: true, subtree: true });
  return () => watch.disconnect();
}

export function Foot({ entries, at }: { entries: readonly { to: string; text: string }[]; at: string | null }) {
  return (
    <nav class="foot" aria-label={t.common.nav.label}>
      {entries.map(({ to, text }) => (
        <a key={to} href={href(to)} data-testid={`nav-${to}`} aria-current={at === to ? "page" : undefined}>{text}</a>
      ))}
    </nav>
  );
}
