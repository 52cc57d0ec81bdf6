/** What an earlier version wrote is never made again: its bytes are as they were. */
import { createHash } from "node:crypto";
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { archive, archived } from "./support.ts";

test("every file of the archive has the bytes that it was put there with, and none was added", () => {
  const sums = new Map(
    archived("SHA256SUMS")
      .toString("utf8")
      .trim()
      .split("\n")
      .map((line): [string, string] => [line.slice(66).replace(/^\.\//, ""), line.slice(0, 64)]),
  );
  const there = readdirSync(archive, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) =>
      join(entry.parentPath, entry.name)
        .slice(archive.length + 1)
        .replaceAll("\\", "/"),
    )
    .filter((name) => name !== "SHA256SUMS");
  expect(there.toSorted()).toEqual([...sums.keys()].toSorted());
  for (const [name, sum] of sums)
    expect([name, createHash("sha256").update(archived(name)).digest("hex")]).toEqual([name, sum]);
});
