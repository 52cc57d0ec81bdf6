import type { Command } from "commander";
import { existsSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { realClock } from "../../../adapters/link/index.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { writeBundle } from "../../recorder/jobs/bundle.ts";
import { noteAsHtml, noteOf, writeHtmlNote, writeMarkdownNote } from "../../recorder/jobs/note.ts";
import { JobStore } from "../../recorder/jobs/store.ts";
import { isoWithZone } from "../../recorder/names.ts";
import { defaultFolder } from "../../server/folders.ts";
import { dateText } from "../../sheet/note/composing.ts";
import { noteParts, type NotePart } from "../../sheet/note/compose.ts";
import { writerName } from "../version.ts";
import { bundledFolder } from "../bundled.ts";
import { maskingOf } from "../masking.ts";

interface NoteCliOptions {
  readonly html?: string;
  readonly md?: string;
  readonly bundle?: string;
  readonly units: string;
  readonly mask?: string;
  readonly part: string;
  readonly folder: string;
}

export function noteCommand(program: Command): void {
  program
    .command("note")
    .description("write the repair note of a job; without a form, list the jobs")
    .argument("[job]", "a job's name, or its folder")
    .option("--html <file>", "as one HTML file that needs nothing else")
    .option("--md <folder>", "as Markdown with pictures and CSV beside it, in a new folder")
    .option("--bundle <file>", "as a .zip with note, recordings, photos and their SHA-256 checksums")
    .option("--units <system>", "metric or us", "metric")
    .option("--mask <what>", "hide in the note: vin, names, plate, separated by commas")
    .option("--part <part>", "all, page-one (for the customer) or annex", "all")
    .option("--folder <path>", "where recordings and jobs are kept", defaultFolder())
    .action(note);
}

async function note(job: string | undefined, options: NoteCliOptions): Promise<void> {
  const { store, id } = place(job, options.folder);
  if (id === null) {
    await list(store);
    return;
  }
  const forms = [options.html, options.md, options.bundle].filter((form) => form !== undefined);
  if (forms.length === 0) {
    throw new CranksideError("wrong-use", "the form is missing", {
      expected: "--html FILE, --md FOLDER or --bundle FILE",
      found: "no form",
    });
  }
  const noteOptions = {
    system: unitsOf(options.units),
    masking: maskingOf(options.mask),
    made: isoWithZone(realClock.wall()),
    writer: writerName,
    part: partOf(options.part),
  };
  if (options.html !== undefined) {
    await writeHtmlNote(options.html, await noteAsHtml(store, id, noteOptions));
    process.stdout.write(`${options.html} is written.\n`);
  }
  if (options.md !== undefined) {
    const files = await writeMarkdownNote(options.md, await noteOf(store, id, noteOptions));
    process.stdout.write(`${join(options.md, "note.md")} is written, ${files - 1} files beside it.\n`);
  }
  if (options.bundle !== undefined) {
    const { files, bytes, about } = await writeBundle(store, id, {
      ...noteOptions,
      part: "all",
      path: options.bundle,
    });
    process.stdout.write(`${options.bundle} is written: ${files} files, ${bytes} bytes.\n`);
    for (const line of about) process.stdout.write(`${line}\n`);
  }
}

/** A job by its name in the folder, or by the path of its own folder. */
function place(job: string | undefined, folder: string): { store: JobStore; id: string | null } {
  const bundled = bundledFolder();
  if (job !== undefined && existsSync(join(job, "job.json"))) {
    const path = resolve(job);
    // jobs/ID in the recordings folder.
    return { store: new JobStore({ own: dirname(dirname(path)), bundled }, realClock), id: basename(path) };
  }
  return { store: new JobStore({ own: folder, bundled }, realClock), id: job ?? null };
}

async function list(store: JobStore): Promise<void> {
  const entries = await store.list();
  if (entries.length === 0) process.stdout.write(`There are no jobs in ${store.root}.\n`);
  for (const { id, name, complaint, archived, problem, ...more } of entries) {
    const count = more.recordings ?? 0;
    const told = [
      ...[name, complaint, more.begun === undefined ? "" : `begun ${dateText(more.begun)}`],
      ...[`${count} ${count === 1 ? "recording" : "recordings"}`, more.found ?? ""],
    ];
    const about =
      problem ??
      told
        .filter((text) => text !== "")
        .join(" · ")
        .replace(/\s+/g, " ");
    process.stdout.write(`${id}${archived ? " (archived)" : ""}  ${about}\n`);
  }
}

function unitsOf(text: string): "metric" | "us" {
  if (text === "metric" || text === "us") return text;
  throw new CranksideError("wrong-use", "no such units", {
    expected: "metric or us",
    found: JSON.stringify(text),
  });
}

function partOf(text: string): NotePart {
  const part = noteParts.find((one) => one === text);
  if (part !== undefined) return part;
  throw new CranksideError("wrong-use", "the note has no such part", {
    expected: noteParts.join(", "),
    found: JSON.stringify(text),
  });
}
