import { defineConfig } from "vite";

// One page, served by the program itself: nothing is fetched from anywhere else, nothing is inlined that the page's content
// policy would refuse.
export default defineConfig({
  base: "/",
  build: { outDir: "dist", target: "es2022", assetsInlineLimit: 0, modulePreload: { polyfill: false }, chunkSizeWarningLimit: 800 },
  server: { host: "127.0.0.1", proxy: { "/api": "http://127.0.0.1:7317" } },
});
