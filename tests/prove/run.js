/**
 * `npm run prove -- [options]`: the proving set; with `--shop` the simulated shop, with `--data FOLDER` recordings of real
 * vehicles; `--help` shows the options.
 */
import { join } from "node:path";
import { createServer } from "vite";
import { quickModules } from "../support/quickModules.js";

const server = await createServer({
  root: join(import.meta.dirname, "../.."),
  configFile: false,
  plugins: [quickModules()],
  logLevel: "error",
  server: { middlewareMode: true, watch: null, ws: false },
  optimizeDeps: { noDiscovery: true },
  ssr: { external: ["serialport", "@serialport/parser-readline"] },
});
const args = process.argv.slice(2);
const load = (name) => server.ssrLoadModule(join(import.meta.dirname, name));
process.exitCode = args.includes("--shop")
  ? await (await load("shop.ts")).shop(args)
  : args.includes("--data")
    ? await (await load("data.ts")).data(args)
    : await (await load("prove.ts")).prove(args, import.meta.filename);
// A parent that listens would keep this process waiting.
if (process.connected) process.disconnect();
await server.close();
