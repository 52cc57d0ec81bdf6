import type { Command } from "commander";
import { realClock } from "../../../adapters/link/index.ts";
import { importCsv } from "../../recorder/import/index.ts";
import { Progress } from "../progress.ts";
import { writerName } from "../version.ts";

interface ImportOptions {
  readonly columns: string;
  readonly out: string;
}

export function importCommand(program: Command): void {
  program
    .command("import")
    .description("turn a CSV from elsewhere into a recording")
    .argument("<csv>", "the file, .csv or .csv.gz")
    .requiredOption(
      "--columns <map>",
      "column map: which column is which channel (recordings/maps/README.md)",
    )
    .requiredOption(
      "--out <file>",
      "the recording to make, NAME.ndjson; an existing file is never overwritten",
    )
    .action(async (csv: string, options: ImportOptions) => {
      const progress = new Progress();
      const result = await importCsv({
        csv,
        map: options.columns,
        out: options.out,
        clock: realClock,
        writer: writerName,
        onProgress: (rows) => progress.show(`${rows} rows`),
      });
      progress.end("");
      for (const notice of result.notices) process.stderr.write(`notice: ${notice}\n`);
      process.stdout.write(
        `${options.out}: ${result.rows} rows, ${result.samples} readings of ${result.channels} channels\n`,
      );
    });
}
