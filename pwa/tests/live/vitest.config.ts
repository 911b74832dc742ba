import { defineConfig } from "vitest/config";

/** Run by tests/story/test_tablet_program.py, which starts the server that this needs. */
export default defineConfig({ test: { environment: "node", include: ["tests/live/*.live.ts"], testTimeout: 60_000, hookTimeout: 60_000 } });
