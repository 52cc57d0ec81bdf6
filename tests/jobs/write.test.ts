import { existsSync, readFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { writeNew } from "../../src/recorder/jobs/write.ts";
import { tempFolder } from "../support/program.ts";

let folder: ReturnType<typeof tempFolder>;
beforeEach(() => (folder = tempFolder()));
afterEach(() => folder.remove());

async function* pieces(...texts: string[]): AsyncGenerator<Buffer> {
  for (const text of texts) yield Promise.resolve(Buffer.from(text));
}

async function* failing(): AsyncGenerator<Buffer> {
  await Promise.resolve();
  throw new Error("cut short");
}

test("a new file has all that its source gave", async () => {
  const path = join(folder.path, "new");
  await writeNew(path, pieces("one ", "two"));
  expect(readFileSync(path, "utf8")).toBe("one two");
});

test("a file that is there already is not written over", async () => {
  const path = join(folder.path, "new");
  await writeNew(path, pieces("first"));
  await expect(writeNew(path, pieces("second"))).rejects.toThrow("EEXIST");
  expect(readFileSync(path, "utf8")).toBe("first");
});

test("when its source fails the file is there at once, so that it can be cleared away for good", async () => {
  for (let time = 0; time < 20; time += 1) {
    const path = join(folder.path, `new-${time}`);
    await expect(writeNew(path, failing())).rejects.toThrow("cut short");
    expect(existsSync(path)).toBe(true);
    rmSync(path);
  }
});
