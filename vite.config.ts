import { svelte } from "@sveltejs/vite-plugin-svelte";
import { join } from "node:path";
import { defineConfig } from "vite";

/** While developing, the program itself answers here: `crankside --no-open --port 4173`. */
const program = `http://127.0.0.1:${process.env["PORT"] ?? "4173"}`;

export default defineConfig({
  root: join(import.meta.dirname, "src/page"),
  base: "./",
  plugins: [svelte({ configFile: false })],
  build: {
    outDir: "../../dist/page",
    emptyOutDir: true,
    target: "es2022",
    // The page is served with a policy that allows nothing inline.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
  server: {
    host: "127.0.0.1",
    proxy: { "/api": program, "/ws": { target: program, ws: true }, "/carry": { target: program, ws: true } },
  },
});
