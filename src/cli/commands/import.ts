import type { Command } from "commander";
import { writeFileSync } from "node:fs";
import { basename } from "node:path";
import { realClock } from "../../../adapters/link/index.ts";
import { CranksideError } from "../../../shared/errors.ts";
import {
  choicesOf,
  mapOf,
  stillAsked,
  withSystem,
  type Choice,
  type LogLook,
} from "../../../shared/logLook.ts";
import { importCsv, type ImportResult } from "../../recorder/import/index.ts";
import { lookAtFile } from "../../recorder/import/logFile.ts";
import { importLog, mapsFolder } from "../../recorder/import/logs.ts";
import { unwritable } from "../../recorder/problems.ts";
import { defaultFolder } from "../../server/folders.ts";
import { Progress } from "../progress.ts";
import { writerName } from "../version.ts";

interface ImportOptions {
  readonly columns?: string;
  readonly out?: string;
  readonly units?: string;
  readonly writeMap?: string;
  readonly yes?: true;
  readonly folder: string;
}

export function importCommand(program: Command): void {
  program
    .command("import")
    .description("turn a log from elsewhere into a recording: a CSV, or replies as hexadecimal digits")
    .argument("<file>", "the file, .csv or .csv.gz; its columns are looked at and matched to channels")
    .option("--units <system>", "metric or us: the units that the file does not name")
    .option("--yes", "accept guesses that are only likely, too")
    .option("--columns <map>", "a column map instead of looking (recordings/maps/README.md)")
    .option("--write-map <file>", "write what was found as a column map to change by hand, and stop")
    .option("--out <file>", "the recording to make, NAME.ndjson; without it a free name in the folder")
    .option("--folder <path>", "where recordings and kept maps are", defaultFolder())
    .action(async (csv: string, options: ImportOptions) => {
      const progress = new Progress();
      const onProgress = (rows: number): void => progress.show(`${rows} rows`);
      const done =
        options.columns === undefined
          ? await looked(csv, options, onProgress)
          : await mapped(csv, options, onProgress);
      progress.end("");
      if (done === null) return;
      for (const notice of done.notices) process.stderr.write(`notice: ${notice}\n`);
      process.stdout.write(
        `${done.path}: ${done.rows} rows, ${done.samples} readings of ${done.channels} channels\n`,
      );
    });
}

type Done = ImportResult & { readonly path: string };

async function mapped(
  csv: string,
  options: ImportOptions,
  onProgress: (rows: number) => void,
): Promise<Done> {
  const { columns: map = "", out: path } = options;
  if (path === undefined)
    throw new CranksideError("wrong-use", "the recording to make is missing", {
      expected: "--out NAME.ndjson",
    });
  const result = await importCsv({ csv, map, out: path, clock: realClock, writer: writerName, onProgress });
  return { ...result, path };
}

async function looked(
  csv: string,
  options: ImportOptions,
  onProgress: (rows: number) => void,
): Promise<Done | null> {
  const { units, folder: own, out = null } = options;
  if (units !== undefined && units !== "metric" && units !== "us") {
    const found = JSON.stringify(units);
    throw new CranksideError("wrong-use", "no system of units", { expected: "metric or us", found });
  }
  const look = await lookAtFile(csv, mapsFolder(own));
  const choices = units === undefined ? choicesOf(look) : withSystem(choicesOf(look), units);
  process.stderr.write(tableText(look, choices));
  if (options.writeMap !== undefined) {
    writeMap(options.writeMap, mapOf(look, choices, `Columns of ${basename(csv)}`));
    return null;
  }
  const likely = look.columns.filter(({ how }) => how === "likely").map(({ name }) => name);
  const asked = [
    ...stillAsked(look, choices),
    ...(likely.length === 0 || options.yes === true ? [] : [`Only likely: ${likely.join(", ")}.`]),
  ];
  if (asked.length > 0) {
    throw new CranksideError("csv-columns", "some columns are not known for sure", {
      found: asked.join(" "),
      where: csv,
      advice:
        "--units metric or --units us gives the missing units, --yes accepts likely guesses, --write-map FILE writes a map to change, and --columns FILE uses it. The page asks the same in a table.",
    });
  }
  // What was taken by these words is known the next time without them.
  const keep = units !== undefined || options.yes === true;
  return importLog({
    ...{ csv, name: basename(csv), look, choices, own, out, keep },
    ...{ clock: realClock, writer: writerName, onProgress },
  });
}

function tableText(look: LogLook, choices: readonly Choice[]): string {
  if (look.form === "replies") return "a log of replies, decoded by the parameter table\n";
  const separators = `separated by ${JSON.stringify(look.delimiter)}, decimals behind "${look.decimal}", ${look.encoding}`;
  const held = look.held ? ", values held until they are read again" : "";
  const rows = look.columns.map(({ name, how, about, nearest }, i) => {
    const { channel = null, unit = null } = choices[i] ?? {};
    if (channel !== null) return [name, channel, unit ?? "unit not said", how === "likely" ? "likely" : ""];
    const near = nearest.length === 0 ? "" : `; near to it: ${nearest.join(", ")}`;
    return [name, "left out", "", `${about}${near}`];
  });
  const all = [[look.time.column, "the time", look.time.unit, look.time.rows], ...rows];
  const widths = [0, 1, 2].map((c) => Math.max(...all.map((row) => (row[c] ?? "").length)));
  const lines = all.map((row) =>
    row
      .map((cell, c) => cell.padEnd(widths[c] ?? 0))
      .join("  ")
      .trimEnd(),
  );
  return `${separators}${held}\n${lines.map((line) => `  ${line}\n`).join("")}`;
}

function writeMap(path: string, map: object | null): void {
  if (map === null)
    throw new CranksideError("wrong-use", "a log of replies needs no column map", { expected: "a table" });
  try {
    writeFileSync(path, `${JSON.stringify(map, null, 2)}\n`, { flag: "wx" });
  } catch (error) {
    throw unwritable(path, error);
  }
  process.stdout.write(`${path}: the column map\n`);
}
