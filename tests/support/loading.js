/** The project's own TypeScript as it stands, for what `npm run` starts beside the tests. */
import { join } from "node:path";
import { createServer } from "vite";
import { quickModules } from "./quickModules.js";

/** Loads a module, by its path from the top, and waits for what is made of it. */
export async function loading(path, use) {
  const server = await createServer({
    root: join(import.meta.dirname, "../.."),
    configFile: false,
    appType: "custom",
    plugins: [quickModules()],
    logLevel: "error",
    server: { middlewareMode: true, hmr: false, ws: false, watch: null },
    optimizeDeps: { noDiscovery: true },
    ssr: { external: ["serialport", "@serialport/parser-readline"] },
  });
  try {
    // The runner stays open meanwhile: the serial library is loaded only when a port is opened.
    return await use(await server.ssrLoadModule(path));
  } finally {
    await server.close();
  }
}
