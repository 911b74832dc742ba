import { defineConfig } from "vitest/config";

const ALL = "tests/**/*.test.ts";
// These change the zone of the process they run in, which a thread has none of.
const ZONES = "tests/dates.test.ts";

export default defineConfig({
  test: {
    environment: "node",
    setupFiles: ["tests/support/words.ts"],
    // A thread costs less to begin than a process, and there is one for each file.
    projects: [
      { extends: true, test: { name: "threads", pool: "threads", include: [ALL], exclude: [ZONES] } },
      { extends: true, test: { name: "processes", pool: "forks", include: [ZONES] } },
    ],
  },
});
