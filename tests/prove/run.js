/** `npm run prove -- [options]`: the proving set; `--help` shows the options. */
import { join } from "node:path";
import { createServer } from "vite";

const server = await createServer({
  root: join(import.meta.dirname, "../.."),
  configFile: false,
  logLevel: "error",
  server: { middlewareMode: true, watch: null, ws: false },
  optimizeDeps: { noDiscovery: true },
  ssr: { external: ["serialport", "@serialport/parser-readline"] },
});
const { prove } = await server.ssrLoadModule(join(import.meta.dirname, "prove.ts"));
process.exitCode = await prove(process.argv.slice(2));
await server.close();
