import { defineConfig } from "vite";

/**
 * Builds the page that shows every part in every state; where to is given on the command line
 * (--outDir), from the folder pwa. Apart from the app, so that nobody at a chair carries it.
 */
export default defineConfig({
  root: "tests/gallery",
  esbuild: { jsx: "automatic", jsxImportSource: "preact" },
  build: { target: "es2022", emptyOutDir: true, modulePreload: { polyfill: false } },
});
