/** The page with hot reload on port 5173, the service it talks to behind it on port 4173. */
import { spawn } from "node:child_process";
import { join } from "node:path";
import { createServer } from "vite";

const root = join(import.meta.dirname, "../..");
const service = spawn(
  process.execPath,
  [join(root, "src/cli/crankside.js"), "serve", "--no-open", ...process.argv.slice(2)],
  {
    stdio: "inherit",
  },
);
const page = await createServer({ root, configFile: join(root, "vite.config.ts") });
await page.listen();
page.printUrls();
service.on("exit", async (code) => {
  await page.close();
  process.exitCode = code ?? 1;
});
