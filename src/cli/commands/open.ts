import type { Command } from "commander";
import { realClock } from "../../../adapters/link/index.ts";
import { openBundle } from "../../recorder/jobs/openBundle.ts";
import { JobStore } from "../../recorder/jobs/store.ts";
import { defaultFolder } from "../../server/folders.ts";
import { bundledFolder } from "../bundled.ts";

export function openCommand(program: Command): void {
  program
    .command("open")
    .description("open a bundle that was made elsewhere: each file is checked against its checksum")
    .argument("<file>", "a .zip made by note --bundle")
    .option("--folder <path>", "where recordings and jobs are kept", defaultFolder())
    .action(async (file: string, { folder }: { folder: string }) => {
      const store = new JobStore({ own: folder, bundled: bundledFolder() }, realClock);
      const { job, files, about } = await openBundle(store, file);
      await store.opened(job.id);
      process.stdout.write(
        `All ${files} files match their checksums. The job is here as ${job.id}, and opens with the page.\n`,
      );
      for (const line of about) process.stdout.write(`${line}\n`);
    });
}
