import { basename } from "node:path";
import type { Command } from "commander";
import { CranksideError } from "../../../shared/errors.ts";
import { openRecording } from "../../recorder/open.ts";
import { Shelf } from "../../recorder/shelf/shelf.ts";
import { defaultFolder } from "../../server/folders.ts";
import { dateText } from "../../sheet/note/composing.ts";
import { recordingEntry } from "../../sheet/shelf/entries.ts";
import { groupWords, referencesFor, type LookedAt } from "../../sheet/shelf/references.ts";
import { lineOf, search, wordsOf } from "../../sheet/shelf/search.ts";
import { interrupted } from "../interrupt.ts";
import { plain } from "../plain.ts";
import { Progress } from "../progress.ts";

interface FindOptions {
  readonly folder: string;
  readonly vehicle?: string;
  readonly code?: string;
  readonly sign?: string;
  readonly since?: string;
  readonly sound?: true;
  readonly like?: string;
  readonly json?: true;
}

export function findCommand(program: Command): void {
  program
    .command("find")
    .description("look through recordings and jobs: vehicle, complaint, codes, signs, causes, marks, notes")
    .argument("[words...]", "each word must occur, upper or lower case; words in quotes count as one")
    .option("--vehicle <name>", "a part of its name or VIN")
    .option("--code <code>", "a trouble code or its beginning, such as P03")
    .option("--sign <sign>", "a sign that is outside its range, or its beginning, such as crank.no-speed")
    .option("--since <day>", "started on or after this day: 2024-03-02, or 2024-03")
    .option("--sound", "good recordings only: the engine starts, nothing is outside its range, no DTC")
    .option("--like <file>", "good recordings of the same vehicle or engine, about as warm as this one")
    .option("--json", "everything in the indexes, for machines")
    .option("--folder <path>", "where recordings and jobs are kept", defaultFolder())
    .action(find);
}

/** The recording that others are to be laid beside. */
async function lookedAt(path: string): Promise<LookedAt> {
  const { vehicle, coolant, invented } = recordingEntry(await openRecording(path), "");
  return { file: basename(path), vehicle, coolant, invented };
}

async function find(words: readonly string[], options: FindOptions): Promise<void> {
  const { folder, json, like, ...asked } = options;
  const looked = like === undefined ? null : await lookedAt(like);
  if (asked.since !== undefined && !/^\d{4}-\d\d(-\d\d)?$/.test(asked.since)) {
    throw new CranksideError("wrong-use", "this is not a day", {
      expected: "such as 2024-03-02, or 2024-03",
      found: JSON.stringify(asked.since),
    });
  }
  const shelf = new Shelf(folder);
  const progress = new Progress();
  const ctrlC = interrupted();
  const state = { stopped: false };
  void ctrlC.done.then(() => {
    state.stopped = true;
  });
  try {
    await shelf.refresh({
      stopped: () => state.stopped,
      onProgress: (made, all, source) => progress.show(`index ${made + 1} of ${all}  ${source}`),
    });
  } finally {
    progress.end("");
    ctrlC.release();
  }
  const fits = search(shelf.all, {
    ...asked,
    words: words.flatMap((word) => (word.includes(" ") ? [word] : wordsOf(word))),
  });
  const references = looked === null ? null : referencesFor(fits, looked);
  const found =
    references === null
      ? fits
      : references.flatMap(({ file }) => fits.find((one) => one.name === file) ?? []);
  if (json === true) {
    const inner = ["stamp", "version"];
    const rows = found.map(({ name, entry }) => ({
      name,
      ...Object.fromEntries(Object.entries(entry).filter(([field]) => !inner.includes(field))),
    }));
    process.stdout.write(plain(`${JSON.stringify(rows, null, 2)}\n`));
  } else {
    for (const one of found) {
      const { kind, started } = one.entry;
      const day = Number.isNaN(Date.parse(started)) ? "" : `${dateText(started)} · `;
      process.stdout.write(plain(`${kind === "job" ? "job " : ""}${one.name}\n  ${day}${lineOf(one)}\n`));
    }
    for (const same of ["vehicle", "engine"] as const) {
      const group = (references ?? []).filter((one) => one.same === same);
      if (group.length > 0) process.stdout.write(`${groupWords(group)}\n`);
    }
    process.stdout.write(
      found.length === 0
        ? `Nothing of ${shelf.all.length} fits.\n`
        : `${found.length} of ${shelf.all.length}.\n`,
    );
  }
  for (const { source, why } of shelf.problems) process.stderr.write(plain(`${source}: ${why}\n`));
  if (state.stopped) process.stderr.write("Stopped: files without an index were not searched.\n");
}
