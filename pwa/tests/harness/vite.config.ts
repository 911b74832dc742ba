import { defineConfig } from "vite";

/** Builds the page of the crash test; where to is given on the command line (--outDir), from the folder pwa. */
export default defineConfig({
  root: "tests/harness",
  build: { target: "es2022", emptyOutDir: true, modulePreload: { polyfill: false } },
});
