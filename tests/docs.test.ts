import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { errorCodes } from "../shared/errors.ts";

const root = join(import.meta.dirname, "..");

test("DEVELOPERS.md explains every error code, and no other", () => {
  const text = readFileSync(join(root, "DEVELOPERS.md"), "utf8");
  const section = text.slice(text.indexOf("## Error codes"));
  const documented = [...section.matchAll(/^\| `([a-z-]+)`\s*\|/gm)].map((m) => m[1]);
  expect(documented.toSorted()).toEqual([...errorCodes].toSorted());
});

test("the lock file names no registry", () => {
  const text = readFileSync(join(root, "package-lock.json"), "utf8");
  expect(text).not.toContain('"resolved"');
});
