/** What an earlier version wrote is never made again: its bytes are as they were. */
import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { archive } from "./support.ts";

test.each(["v1", "v2"])(
  "every file of %s has the bytes that it was put there with, and none was added",
  (version) => {
    const folder = join(archive, "..", version);
    const sums = new Map(
      readFileSync(join(folder, "SHA256SUMS"), "utf8")
        .trim()
        .split("\n")
        .map((line): [string, string] => [line.slice(66).replace(/^\.\//, ""), line.slice(0, 64)]),
    );
    const there = readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) =>
        join(entry.parentPath, entry.name)
          .slice(folder.length + 1)
          .replaceAll("\\", "/"),
      )
      .filter((name) => name !== "SHA256SUMS");
    expect(there.toSorted()).toEqual([...sums.keys()].toSorted());
    for (const [name, sum] of sums)
      expect([
        name,
        createHash("sha256")
          .update(readFileSync(join(folder, name)))
          .digest("hex"),
      ]).toEqual([name, sum]);
  },
);
