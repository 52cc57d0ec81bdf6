/** A job of an hour with twelve clips and twelve photos: its note stays small, and holds every one of them. */
import { afterAll, expect, test } from "vitest";
import { noteAsHtml } from "../../src/recorder/jobs/note.ts";
import { tempFolder } from "../support/program.ts";
import { created, makeLargeJob } from "./large.ts";

const folder = tempFolder();
afterAll(() => folder.remove());

test("the note of an hour with 12 clips and 12 photos is under 15 MB and holds them all", async () => {
  const { store, id } = await makeLargeJob(folder.path);
  const html = await noteAsHtml(store, id, { system: "metric", made: created, writer: "test" });
  // One for each clip, and that of page one.
  expect(html.match(/<svg /g)).toHaveLength(13);
  expect(html.match(/<img /g)).toHaveLength(12);
  expect(Buffer.byteLength(html)).toBeLessThan(15_000_000);
}, 120_000);
