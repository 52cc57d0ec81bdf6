import { ESLint } from "eslint";
import { join } from "node:path";
import { expect, test } from "vitest";
import { circlesOf, importsBelow } from "./check/circles.js";

const root = join(import.meta.dirname, "..");

/** Rule ids that a text breaks when it stands in this file. */
async function broken(file: string, text: string): Promise<string[]> {
  const [result] = await new ESLint({ cwd: root }).lintText(text, { filePath: join(root, file) });
  return (result?.messages ?? []).map((m) => m.ruleId ?? m.message);
}

const arrow = "boundaries/dependencies";

test("shared imports nothing of ours, types included", async () => {
  const text = 'import type { Asked } from "../src/reading/asked.ts";\nexport type X = Asked;\n';
  expect(await broken("shared/clock.ts", text)).toContain(arrow);
});

test("the reading room may enter framing, and framing may not enter the reading room", async () => {
  const down = 'import type { Piece } from "../../adapters/framing/pieces.ts";\nexport type X = Piece;\n';
  expect(await broken("src/reading/asked.ts", down)).not.toContain(arrow);
  const up = 'import type { Asked } from "../../src/reading/asked.ts";\nexport type X = Asked;\n';
  expect(await broken("adapters/framing/pieces.ts", up)).toContain(arrow);
});

test("pure rooms have no clock and no platform", async () => {
  expect(await broken("src/reading/asked.ts", "export const x = Date.now();\n")).toContain(
    "no-restricted-properties",
  );
  expect(
    await broken(
      "shared/clock.ts",
      'import { readFileSync } from "node:fs";\nexport const x = readFileSync;\n',
    ),
  ).toContain("no-restricted-imports");
});

test("files that import each other are found, types included, and there are none", () => {
  const graph = new Map([
    ["a", ["b"]],
    ["b", ["c", "d"]],
    ["c", ["a"]],
    ["d", []],
  ]);
  expect(circlesOf(graph).map((members) => members.sort())).toEqual([["a", "b", "c"]]);
  const real = importsBelow(root);
  expect(real.get("src/interpret/profile/profile.ts")).toContain("src/interpret/folds/source.ts");
  expect(real.get("src/page/App.svelte")?.length).toBeGreaterThan(5);
  expect(circlesOf(real)).toEqual([]);
});
