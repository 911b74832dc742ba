/** Keep the screen on during a case where the browser can. */
export function keepAwake(): () => void {
  let held: { release: () => Promise<void> } | null = null;
  let ended = false;
  const ask = async () => {
    if (document.visibilityState !== "visible" || ended) return;
    const lock = await navigator.wakeLock?.request("screen").catch(() => null);
    if (ended) void lock?.release();
    else held = lock ?? null;
  };
  void ask();
  document.addEventListener("visibilitychange", ask);
  return () => {
    ended = true;
    document.removeEventListener("visibilitychange", ask);
    void held?.release();
  };
}
