import type { Command } from "commander";
import { join } from "node:path";
import { messageOf } from "../../../shared/errors.ts";
import { clockText } from "../../../shared/times.ts";
import { listRecordings } from "../../recorder/list.ts";
import { openRecording } from "../../recorder/open.ts";
import { defaultFolder } from "../../server/folders.ts";
import { dateText } from "../../sheet/note/composing.ts";
import { summaryOf } from "../../sheet/summary.ts";
import { bundledFolder } from "../bundled.ts";

export function recordingsCommand(program: Command): void {
  program
    .command("recordings")
    .description("list recordings, newest first: when, how long, vehicle, complaint, what happened")
    .option("--folder <path>", "where recordings are kept", defaultFolder())
    .option("--samples", "with the samples of invented vehicles")
    .action(list);
}

async function list({
  folder,
  samples,
}: {
  readonly folder: string;
  readonly samples?: true;
}): Promise<void> {
  const bundled = samples === true ? bundledFolder() : null;
  const entries = listRecordings({ own: folder, bundled });
  if (entries.length === 0) process.stdout.write(`There are no recordings in ${folder}.\n`);
  for (const entry of entries) {
    const path = join(entry.bundled ? (bundled ?? "") : folder, entry.file);
    const told = entry.problem === null ? await about(path) : [entry.problem];
    const when = entry.started === null ? "" : dateText(entry.started);
    const parts = [when, ...told, entry.invented ? "invented data" : ""];
    process.stdout.write(`${entry.file}\n  ${parts.filter((text) => text !== "").join(" · ")}\n`);
  }
}

/** One that cannot be read to its end is listed with the reason. */
async function about(path: string): Promise<string[]> {
  try {
    const { lengthMs, vehicle, complaint, happened } = summaryOf((await openRecording(path)).reading);
    return [clockText(lengthMs), vehicle, complaint, happened];
  } catch (error) {
    return [messageOf(error)];
  }
}
