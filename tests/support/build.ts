import { spawnSync } from "node:child_process";
import { join } from "node:path";

/** Builds the program if it is stale, in a process of its own, so that parallel tests find it ready. */
export function build(): void {
  const root = join(import.meta.dirname, "../..");
  const { status, stderr } = spawnSync(process.execPath, [join(root, "src/cli/build.js")], {
    encoding: "utf8",
  });
  if (status !== 0) throw new Error(`the build failed: ${stderr}`);
}
