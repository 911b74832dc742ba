import { defineConfig } from "vite";

/** Builds the page of the crash test; where to is given on the command line (--outDir). */
export default defineConfig({
  root: import.meta.dirname,
  build: { target: "es2022", emptyOutDir: true, modulePreload: { polyfill: false } },
});
