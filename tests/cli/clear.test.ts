/** Clearing codes as a person types it: nothing is sent without the words, and once with them. */
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { build } from "../support/build.ts";
import { crankside, tempFolder } from "../support/program.ts";

const folder = tempFolder();
const file = (name: string): string => join(folder.path, name);

beforeAll(() => build(), 180_000);
afterAll(() => folder.remove());

function asked(name: string): string[] {
  return [...readFileSync(file(name), "utf8").matchAll(/"ask":"([^"]*)"/g)].map((match) => match[1] ?? "");
}

test("other words, or none: what would be lost is kept and shown, and nothing is sent", async () => {
  for (const [name, input] of [
    ["none.ndjson", ""],
    ["other.ndjson", "yes\n"],
  ] as const) {
    const args = ["clear", "--on", "bench:garden-van", "--out", file(name)];
    const { status, stdout, stderr } = await crankside(args, undefined, input);
    expect(status).toBe(1);
    expect(stdout).toContain("Type: erase no code, readiness");
    expect(stderr).toContain("nothing was sent");
    expect(asked(name)).toContain("03");
    expect(asked(name).filter((ask) => ask.startsWith("04"))).toEqual([]);
  }
}, 120_000);

test("the words that name it: sent once, recorded with its answer, and asked again what is left", async () => {
  const args = ["clear", "--on", "bench:garden-van", "--out", file("cleared.ndjson")];
  const { status, stdout } = await crankside(args, undefined, "Erase no code,  readiness\n");
  expect(status).toBe(0);
  expect(stdout).toMatch(/module 7E8: says that it is done/);
  const commands = asked("cleared.ndjson");
  const at = commands.indexOf("04");
  expect(commands.filter((ask) => ask.startsWith("04"))).toHaveLength(1);
  expect(commands.slice(0, at)).toEqual(expect.arrayContaining(["0101", "03", "07", "020200"]));
  expect(commands.slice(at)).toContain("03");
  const text = readFileSync(file("cleared.ndjson"), "utf8");
  expect(text).toMatch(/"ask":"04","lines":\["7E80144/);
  expect(text).toContain("a person asked to clear codes, in these words");
  expect((await crankside(["verify", file("cleared.ndjson")])).status).toBe(0);
}, 120_000);

test("without a recording it is wrong use", async () => {
  expect((await crankside(["clear", "--on", "bench:garden-van"], undefined, "")).status).toBe(2);
  expect(existsSync(file("nothing.ndjson"))).toBe(false);
}, 180_000);
