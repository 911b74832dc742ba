// Measure one address with Lighthouse's mobile profile and print what was found as JSON:
// `CHROME_PATH=... node run.mjs ADDRESS`. The profile is Lighthouse's own: a slow phone with 150 ms
// round trips, 1.6 Mbit/s and a processor slowed down fourfold (simulated throttling).
import { launch } from "chrome-launcher";
import lighthouse from "lighthouse";

const chrome = await launch({ chromeFlags: ["--headless=new", "--no-sandbox", "--disable-gpu"] });
try {
  const { lhr } = await lighthouse(process.argv[2], {
    port: chrome.port, logLevel: "error",
    onlyCategories: ["performance", "accessibility", "best-practices"],
  });
  const scores = Object.fromEntries(Object.values(lhr.categories).map(({ id, score }) => [id, Math.round(score * 100)]));
  const timed = (id) => Math.round(lhr.audits[id].numericValue * 1000) / 1000;
  const short = Object.values(lhr.categories).flatMap(({ auditRefs }) =>
    auditRefs.filter(({ id, weight }) => weight > 0 && lhr.audits[id].score !== null && lhr.audits[id].score < 0.9)
      .map(({ id }) => `${id}: ${lhr.audits[id].displayValue ?? lhr.audits[id].title}`));
  const { rttMs, throughputKbps, cpuSlowdownMultiplier } = lhr.configSettings.throttling;
  process.stdout.write(JSON.stringify({
    version: lhr.lighthouseVersion, scores, short, error: lhr.runtimeError?.message ?? null,
    profile: { rttMs, throughputKbps, cpuSlowdownMultiplier },
    milliseconds: {
      first_contentful_paint: timed("first-contentful-paint"),
      largest_contentful_paint: timed("largest-contentful-paint"),
      interactive: timed("interactive"),
      total_blocking_time: timed("total-blocking-time"),
    },
    layout_shift: timed("cumulative-layout-shift"),
  }));
} finally {
  await chrome.kill();
}
