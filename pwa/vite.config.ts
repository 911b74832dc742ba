import { defineConfig } from "vite";
import { VitePWA } from "vite-plugin-pwa";

export default defineConfig({
  build: { target: "es2022", sourcemap: false, modulePreload: { polyfill: false } },
  esbuild: { jsx: "automatic", jsxImportSource: "preact" },
  server: { proxy: { "/api": "http://127.0.0.1:8080" } },
  plugins: [
    VitePWA({
      // The update is offered between procedures, never taken during one.
      registerType: "prompt",
      injectRegister: false,
      workbox: {
        globPatterns: ["**/*.{js,css,html,svg,png,webmanifest}"],
        navigateFallback: "/index.html",
        // What the server answers is never kept by the worker: it may say something about a patient.
        navigateFallbackDenylist: [/^\/api\//],
        cleanupOutdatedCaches: true,
        clientsClaim: true,
      },
      manifest: {
        name: "Dosebook",
        short_name: "Dosebook",
        description: "Dose, record and safety log for dental CO2 laser surgery",
        display: "standalone",
        start_url: "/",
        background_color: "#fbfaf6",
        theme_color: "#fbfaf6",
        icons: [
          { src: "/icon-192.png", sizes: "192x192", type: "image/png" },
          { src: "/icon-512.png", sizes: "512x512", type: "image/png" },
          { src: "/icon.svg", sizes: "any", type: "image/svg+xml", purpose: "any" },
        ],
      },
    }),
  ],
});
