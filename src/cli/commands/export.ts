import type { Command } from "commander";
import { exportCsv } from "../../recorder/export.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { durationMs } from "../duration.ts";
import { interrupted } from "../interrupt.ts";
import type { CommandOutcome } from "../outcome.ts";
import { maskingOf } from "../masking.ts";
import { plain } from "../plain.ts";
import { Progress } from "../progress.ts";
import { writerName } from "../version.ts";

interface ExportOptions {
  readonly csv?: true;
  readonly every?: string;
  readonly out?: string;
  readonly parquet?: string;
  readonly mask?: string;
}

export function exportCommand(program: Command, outcome: CommandOutcome): void {
  program
    .command("export")
    .description("write a recording as CSV, or many recordings and jobs as Parquet tables")
    .argument("<paths...>", "a recording; for Parquet also several, or a folder of recordings and jobs")
    .option("--csv", "one recording as CSV")
    .option("--every <time>", "CSV: one row each such as 100ms; without it one row a reading")
    .option("--out <file>", "CSV: where to; without it to standard output")
    .option(
      "--parquet <folder>",
      "tables `readings` and `events` into this folder (recordings/PARQUET.md); run again: only what is new or changed",
    )
    .option("--mask <what>", "Parquet: hide vin, names, plate, separated by commas")
    .action(async (paths: readonly string[], options: ExportOptions) => {
      if ((options.csv === true) === (options.parquet !== undefined)) {
        throw new CranksideError("wrong-use", "one form is needed", {
          expected: "--csv, or --parquet FOLDER",
          found: options.csv === true ? "both" : "no form",
        });
      }
      if (options.parquet !== undefined) await asParquet(paths, options.parquet, { options, outcome });
      else await asCsv(paths, options);
    });
}

async function asCsv(paths: readonly string[], options: ExportOptions): Promise<void> {
  const [file] = paths;
  if (file === undefined || paths.length > 1) {
    throw new CranksideError("wrong-use", "CSV is of one recording", {
      expected: "one file",
      found: `${paths.length} files`,
    });
  }
  if (options.mask !== undefined) refuse("--mask", "--csv", "--parquet");
  await exportCsv(file, {
    ...(options.every === undefined ? {} : { everyMs: durationMs(options.every) }),
    ...(options.out === undefined ? {} : { out: options.out }),
  });
}

async function asParquet(
  paths: readonly string[],
  out: string,
  { options, outcome }: { options: ExportOptions; outcome: CommandOutcome },
): Promise<void> {
  if (options.every !== undefined) refuse("--every", "--parquet", "--csv");
  if (options.out !== undefined) refuse("--out", "--parquet", "--csv");
  const masking = maskingOf(options.mask);
  // The library is taken in only by who wants it: all else starts without.
  const { exportParquet } = await import("../../recorder/parquet/export.ts");
  const progress = new Progress();
  const ctrlC = interrupted();
  const state = { stopped: false };
  void ctrlC.done.then(() => {
    state.stopped = true;
  });
  try {
    const told = await exportParquet(paths, out, {
      ...{ masking, writer: writerName, stopped: () => state.stopped },
      onProgress: (done, all, source) => progress.show(`${done} of ${all}  ${source}`),
    });
    progress.end("");
    const parts = [
      `${told.written} written (${told.rows} rows, ${told.bytes} bytes)`,
      `${told.kept} unchanged`,
      ...(told.gone === 0 ? [] : [`${told.gone} gone`]),
    ];
    process.stdout.write(`${out}: ${parts.join(", ")}.\n`);
    if (state.stopped) process.stdout.write("Broken off; the same command carries on.\n");
    for (const { source, why } of told.problems) process.stderr.write(plain(`${source}: ${why}\n`));
    if (state.stopped || told.problems.length > 0) outcome.status = 1;
  } finally {
    progress.end("");
    ctrlC.release();
  }
}

function refuse(option: string, beside: string, belongs: string): never {
  throw new CranksideError("wrong-use", `${option} belongs to ${belongs}`, {
    expected: `${belongs} with it`,
    found: beside,
  });
}
