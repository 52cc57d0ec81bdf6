import type { Command } from "commander";
import { exportCsv } from "../../recorder/export.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { durationMs } from "../duration.ts";

interface ExportOptions {
  readonly csv?: true;
  readonly every?: string;
  readonly out?: string;
}

export function exportCommand(program: Command): void {
  program
    .command("export")
    .description("write the decoded channels of a recording as CSV")
    .argument("<file>", "a recording")
    .option("--csv", "as CSV (the only form so far)")
    .option("--every <time>", "one row each such as 100ms; without it one row a reading")
    .option("--out <file>", "where to; without it to standard output")
    .action(async (file: string, options: ExportOptions) => {
      if (options.csv !== true) {
        throw new CranksideError("wrong-use", "the form is missing", { expected: "--csv", found: "no form" });
      }
      await exportCsv(file, {
        ...(options.every === undefined ? {} : { everyMs: durationMs(options.every) }),
        ...(options.out === undefined ? {} : { out: options.out }),
      });
    });
}
