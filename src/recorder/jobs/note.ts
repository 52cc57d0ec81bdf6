/** A job's note, as text or as files. */
import { mkdir } from "node:fs/promises";
import { existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { CranksideError } from "../../../shared/errors.ts";
import { composeNote, type NoteOptions } from "../../sheet/note/compose.ts";
import type { Note } from "../../sheet/note/blocks.ts";
import { noteHtml } from "../../sheet/note/html.ts";
import { noteMarkdown } from "../../sheet/note/markdown.ts";
import { unwritable } from "../problems.ts";
import { readSources } from "./sources.ts";
import type { JobStore } from "./store.ts";
import { writeWhole } from "./write.ts";

export async function noteOf(store: JobStore, id: string, options: NoteOptions): Promise<Note> {
  const job = await store.read(id);
  return composeNote(job, await readSources(store, job), options);
}

export async function noteAsHtml(store: JobStore, id: string, options: NoteOptions): Promise<string> {
  return noteHtml(await noteOf(store, id, options));
}

/** Writes one file; a file that is there is not written over (`file-exists`). */
export async function writeHtmlNote(path: string, html: string): Promise<void> {
  refuseExisting(path);
  await writeWhole(path, html);
}

/** Writes `note.md` and its pictures and CSV into a folder that is new. Rejects with `file-exists`, `file-unwritable`. */
export async function writeMarkdownNote(folder: string, note: Note): Promise<number> {
  refuseExisting(folder);
  const files = noteMarkdown(note);
  for (const { name, content } of files) {
    const path = join(folder, name);
    try {
      await mkdir(dirname(path), { recursive: true });
    } catch (error) {
      throw unwritable(path, error);
    }
    await writeWhole(path, content);
  }
  return files.length;
}

export function refuseExisting(path: string): void {
  if (!existsSync(path)) return;
  throw new CranksideError("file-exists", "it is there already, and nothing is written over", {
    where: path,
  });
}
