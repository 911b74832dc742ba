/** The service worker: says when the app works offline, and offers an update instead of taking it. */

import { trustedWorker } from "../events/trusted";

export interface UpdateNews {
  /** Everything needed is kept on this tablet. */
  readyOffline(): void;
  /** A newer version waits; call `take` between procedures: it reloads the page. */
  updateOffered(take: () => void): void;
}

const WORKER = "/sw.js";
const CHECK_EVERY_MS = 3_600_000;

/** Register the worker and watch it. Does nothing where the browser has none, or in development. */
export async function watchUpdates(news: UpdateNews): Promise<void> {
  const container = globalThis.navigator?.serviceWorker as ServiceWorkerContainer | undefined;
  if (container === undefined || import.meta.env.DEV) return;
  const had_worker = container.controller !== null;
  const registration = await container.register(trustedWorker(WORKER), { updateViaCache: "none" });
  const watch = (worker: ServiceWorker): void => {
    const look = (): void => {
      if (worker.state === "installed" && container.controller !== null) offer(worker);
      if (worker.state === "activated" && !had_worker) news.readyOffline();
    };
    worker.addEventListener("statechange", look);
    look();
  };
  const offer = (worker: ServiceWorker): void => {
    news.updateOffered(() => {
      container.addEventListener("controllerchange", () => location.reload(), { once: true });
      worker.postMessage({ type: "SKIP_WAITING" });
    });
  };
  if (registration.waiting !== null) offer(registration.waiting);
  if (registration.installing !== null) watch(registration.installing);
  registration.addEventListener("updatefound", () => {
    if (registration.installing !== null) watch(registration.installing);
  });
  // A tablet stays open for days: look for a newer version now and then.
  setInterval(() => void registration.update().catch(() => undefined), CHECK_EVERY_MS);
}
