/** `npm run measure [part ...]`: prints figures, each beside a floor measured in the same run. */
import { join } from "node:path";
import { runnerImport } from "vite";

const { module } = await runnerImport(join(import.meta.dirname, "measure.ts"), {
  root: join(import.meta.dirname, "../.."),
  configFile: false,
});
await module.measure(process.argv.slice(2));
