/** The note of an hour with twelve clips and twelve photos, against reading the same files. */
import { createHash } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Reading } from "../../src/reading/index.ts";
import { noteAsHtml } from "../../src/recorder/jobs/note.ts";
import { readRecording } from "../../src/recorder/read.ts";
import { created, makeLargeJob } from "../jobs/large.ts";
import { line, medianMs } from "./figures.ts";

export async function measureNote(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), "crankside-measure-"));
  try {
    const { store, id, recording, photos } = await makeLargeJob(folder);
    // Each byte is read, and its sum taken, as the ties ask for; nothing is decoded.
    const bytes = await medianMs(5, () => {
      for (const path of [recording, ...photos])
        createHash("sha256").update(readFileSync(path)).digest("hex");
    });
    const decoded = await medianMs(5, async () => {
      const reading = new Reading(recording);
      await readRecording(recording, reading.sink);
    });
    let size = 0;
    const ours = await medianMs(5, async () => {
      size = Buffer.byteLength(
        await noteAsHtml(store, id, { system: "metric", made: created, writer: "measure" }),
      );
    });
    const what = "an hour, 12 clips, 12 photos as one HTML file";
    line(what, ours, { what: "the same files read and summed", ms: bytes });
    line(what, ours, { what: "their recording read and decoded", ms: decoded });
    process.stdout.write(`  ${(size / 1e6).toFixed(2)} MB\n`);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
