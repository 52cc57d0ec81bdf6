import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { errorCodes } from "../shared/errors.ts";
import { held, tableOf, type Measured } from "./measure/held.ts";

const root = join(import.meta.dirname, "..");

test("DEVELOPERS.md explains every error code, and no other", () => {
  const text = readFileSync(join(root, "DEVELOPERS.md"), "utf8");
  const section = text.slice(text.indexOf("## Error codes"));
  const documented = [...section.matchAll(/^\| `([a-z-]+)`\s*\|/gm)].map((m) => m[1]);
  expect(documented.toSorted()).toEqual([...errorCodes].toSorted());
});

test("DEVELOPERS.md keeps the table of speed as the measure prints it", () => {
  const text = readFileSync(join(root, "DEVELOPERS.md"), "utf8");
  const section = text.slice(text.indexOf("## Speed"));
  const table = /(?:^\|.*\n)+/m.exec(section)?.[0] ?? "";
  const figures = table
    .split("\n")
    .slice(2, -1)
    .map((row) => row.split("|").at(-2)?.trim() ?? "");
  expect(figures).toHaveLength(Object.keys(held).length);
  const measured = Object.fromEntries(Object.keys(held).map((id, i) => [id, figures[i] ?? ""])) as Measured;
  expect(table).toBe(tableOf(measured));
});

test("the lock file names no registry", () => {
  const text = readFileSync(join(root, "package-lock.json"), "utf8");
  expect(text).not.toContain('"resolved"');
});

test("the changelog has the version of the program, and a place for what comes next", () => {
  const text = readFileSync(join(root, "CHANGELOG.md"), "utf8");
  const { version } = JSON.parse(readFileSync(join(root, "package.json"), "utf8")) as { version: string };
  const sections = [...text.matchAll(/^## \[([^\]]+)\](?: - (\d{4}-\d{2}-\d{2}))?$/gm)];
  expect(sections[0]?.[1]).toBe("Unreleased");
  expect(sections.map((section) => section[1])).toContain(version);
  for (const [, name, day] of sections.slice(1)) expect(`${name} ${day}`).toMatch(/ \d{4}-\d{2}-\d{2}$/);
});
