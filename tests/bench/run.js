/** `npm run measure -- [part ...]`: prints figures, each beside a floor measured in the same run; `--help` names the parts. */
import { join } from "node:path";
import { createServer } from "vite";

// A runner that stays open: the serial library is loaded only when a port is opened.
const server = await createServer({
  root: join(import.meta.dirname, "../.."),
  configFile: false,
  appType: "custom",
  logLevel: "error",
  server: { middlewareMode: true, hmr: false, ws: false, watch: null },
  optimizeDeps: { noDiscovery: true },
});
try {
  const { measure } = await server.ssrLoadModule("/tests/bench/measure.ts");
  await measure(process.argv.slice(2));
} finally {
  await server.close();
}
