/** `npm run pictures [name ...]`: the pictures of src/page/pictures, made anew from the built page. */
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
  const { makePictures } = await server.ssrLoadModule("/tests/pictures/make.ts");
  await makePictures(process.argv.slice(2));
} finally {
  await server.close();
}
