/** `npm run mutate -- [ROOMS] [options]`: see mutate.ts. */
import { join } from "node:path";
import { createServer } from "vite";

const server = await createServer({
  root: join(import.meta.dirname, "../.."),
  configFile: false,
  logLevel: "error",
  server: { middlewareMode: true, watch: null, ws: false },
  optimizeDeps: { noDiscovery: true },
});
try {
  const loaded = await server.ssrLoadModule(join(import.meta.dirname, "mutate.ts"));
  const { main } = /** @type {{ main: () => Promise<number> }} */ (loaded);
  process.exitCode = await main();
} finally {
  await server.close();
}
