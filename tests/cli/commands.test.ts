/** Each command as a person types it: exit status, what stands on which stream, and what was written. */
import { copyFileSync, existsSync, readdirSync, readFileSync, truncateSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { parse } from "csv-parse/sync";
import { afterAll, beforeAll, expect, test } from "vitest";
import { z } from "zod/mini";
import { build } from "../support/build.ts";
import { crankside, tempFolder } from "../support/program.ts";
import { dataSet } from "../support/tools.ts";

const folder = tempFolder();
const file = (name: string): string => join(folder.path, name);
const commands = ["serve", "ports", "listen", "survey", "import", "export", "verify", "bench"];

beforeAll(async () => {
  build();
  const made = await crankside([
    "bench",
    "--vehicle",
    "old-hatch",
    "--script",
    "start-and-idle",
    "--out",
    file("good.ndjson"),
  ]);
  expect(made.status).toBe(0);
}, 180_000);

afterAll(() => folder.remove());

test("every command has a help of its own, and it is no error", async () => {
  for (const command of commands) {
    const { status, stdout } = await crankside([command, "--help"]);
    expect(status).toBe(0);
    expect(stdout).toContain(`crankside ${command}`);
  }
});

test.each([
  [["nonsense"]],
  [["verify"]],
  [["listen", "--on", "nowhere", "--out", "x.ndjson"]],
  [["listen", "--on", "bench:garden-van", "--for", "soon", "--out", "x.ndjson"]],
  [["bench", "--vehicle", "garden-van"]],
  [["export", "x.ndjson"]],
  [["export", "x.ndjson", "y.ndjson", "--csv"]],
  [["export", "x.ndjson", "--csv", "--parquet", "out"]],
  [["export", "x.ndjson", "--parquet", "out", "--mask", "colour"]],
])("wrong use ends with 2 and says so on stderr: %j", async (args) => {
  const { status, stdout, stderr } = await crankside(args);
  expect(status).toBe(2);
  expect(stderr).not.toBe("");
  expect(stdout).toBe("");
});

test.each([
  [["verify", "missing.ndjson"]],
  [["listen", "--on", "serial:/dev/there-is-none", "--for", "1s", "--out", "x.ndjson"]],
  [["listen", "--on", "bench:no-such-vehicle", "--for", "1s", "--out", "x.ndjson"]],
  [["listen", "--on", "tcp:127.0.0.1:1", "--for", "1s", "--out", "x.ndjson"]],
])("what cannot be done ends with 1, one line on stderr, and leaves no file: %j", async (args) => {
  const { status, stderr } = await crankside(args, folder.path);
  expect(status).toBe(1);
  expect(stderr.trimEnd().split("\n")).toHaveLength(1);
  expect(existsSync(file("x.ndjson"))).toBe(false);
});

test("verify tells whole, cut short and altered apart by its exit status", async () => {
  copyFileSync(file("good.ndjson"), file("cut.ndjson"));
  truncateSync(file("cut.ndjson"), readFileSync(file("good.ndjson")).length - 200);
  const text = readFileSync(file("good.ndjson"), "utf8");
  writeFileSync(
    file("altered.ndjson"),
    text.replace(/(\d)V"\]/, (all, digit: string) => all.replace(digit, digit === "1" ? "2" : "1")),
  );
  expect((await crankside(["verify", file("good.ndjson")])).status).toBe(0);
  expect((await crankside(["verify", file("cut.ndjson")])).status).toBe(3);
  expect((await crankside(["verify", file("altered.ndjson")])).status).toBe(4);
});

test("not a recording, an empty file, a newer format: one line with expected and found", async () => {
  writeFileSync(file("text.ndjson"), "hello\n");
  writeFileSync(file("empty.ndjson"), "");
  writeFileSync(
    file("newer.ndjson"),
    '{"format":"crankside-recording","version":99,"started":"2026-01-05T08:00:00Z"}\n',
  );
  for (const name of ["text", "empty", "newer"]) {
    const { status, stderr } = await crankside(["verify", file(`${name}.ndjson`)]);
    expect(status).toBe(1);
    expect(stderr).toMatch(/expected .*found /);
    expect(stderr.trimEnd().split("\n")).toHaveLength(1);
  }
});

test("a vehicle file: what it replaces shows on the sign, an unknown field is refused by name", async () => {
  const sample = join(import.meta.dirname, "../../recordings/van-as-it-should-be.ndjson.gz");
  writeFileSync(file("facts.json"), '{"altitudeM":2000}');
  writeFileSync(file("slip.json"), '{"idleRpm":900,"cylindres":4}');
  const plain = await crankside(["read", sample, "--all"]);
  const own = await crankside(["read", sample, "--all", "--vehicle", file("facts.json")]);
  // The standard atmosphere at that height is 79.5 kPa; the sample was made at sea level.
  const flat = (text: string): string => text.replace(/\s+/g, " ");
  expect(flat(plain.stdout)).not.toContain("ISA at 2000 m");
  expect(flat(own.stdout)).toContain("79.5 kPa by ISA at 2000 m");
  for (const line of own.stdout.split("\n"))
    if (!line.includes(sample)) expect(line.length).toBeLessThanOrEqual(100);
  const slip = await crankside(["read", sample, "--vehicle", file("slip.json")]);
  expect(slip.status).toBe(1);
  expect(slip.stdout).toBe("");
  expect(slip.stderr).toContain("cylindres");
  expect(slip.stderr).toContain("slip.json");
  expect(slip.stderr.trimEnd().split("\n")).toHaveLength(1);
});

test("an existing file is never overwritten", async () => {
  const before = readFileSync(file("good.ndjson"));
  const { status } = await crankside([
    "bench",
    "--vehicle",
    "old-hatch",
    "--script",
    "key-on",
    "--out",
    file("good.ndjson"),
  ]);
  expect(status).toBe(1);
  expect(readFileSync(file("good.ndjson"))).toEqual(before);
});

test("the same bench run gives the same bytes", async () => {
  const run = [
    "bench",
    "--vehicle",
    "garden-van",
    "--fault",
    "weak-battery=0.5",
    "--script",
    "crank-only",
    "--seed",
    "7",
    "--out",
  ];
  expect((await crankside([...run, file("one.ndjson")])).status).toBe(0);
  expect((await crankside([...run, file("two.ndjson")])).status).toBe(0);
  expect(readFileSync(file("one.ndjson")).equals(readFileSync(file("two.ndjson")))).toBe(true);
  expect(readFileSync(file("one.ndjson"), "utf8")).not.toContain("weak-battery");
});

test("export reads back with a general CSV library: one row each interval, same columns in all", async () => {
  const out = file("export.csv");
  expect(
    (await crankside(["export", file("good.ndjson"), "--csv", "--every", "500ms", "--out", out])).status,
  ).toBe(0);
  const rows: string[][] = parse(readFileSync(out, "utf8"));
  expect(rows.length).toBeGreaterThan(200);
  expect(rows[0]?.[0]).toMatch(/^time/);
  const speed = rows[0]?.findIndex((name) => name.startsWith("engine-speed")) ?? -1;
  expect(rows.some((row) => Number(row[speed]) > 500)).toBe(true);
});

test("export as tables: from the packaged program, and again nothing is written", async () => {
  const out = file("tables");
  const args = ["export", file("good.ndjson"), "--parquet", out, "--mask", "vin"];
  const first = await crankside(args);
  expect([first.status, first.stdout]).toEqual([0, expect.stringMatching(/: 1 written \(\d+ rows/)]);
  const again = await crankside(args);
  expect(again.stdout).toBe(`${out}: 0 written (0 rows, 0 bytes), 1 unchanged.\n`);
  const files = readdirSync(join(out, "readings"), { recursive: true, encoding: "utf8" });
  const name = files.find((path) => path.endsWith("good.parquet")) ?? "";
  const bytes = readFileSync(join(out, "readings", name));
  expect([bytes.toString("latin1", 0, 4), bytes.toString("latin1", bytes.length - 4)]).toEqual([
    "PAR1",
    "PAR1",
  ]);
});

test.skipIf(dataSet === null)("a real drive of the open data set imports, verifies and exports", async () => {
  const map = join(import.meta.dirname, "../../recordings/maps/held-27-columns.json");
  const out = file("drive.ndjson");
  const imported = await crankside([
    "import",
    join(dataSet ?? "", "drive2.csv.gz"),
    "--columns",
    map,
    "--out",
    out,
  ]);
  expect(imported.status).toBe(0);
  expect(imported.stdout).toMatch(/readings of \d+ channels/);
  expect((await crankside(["verify", out])).status).toBe(0);
  const exported = await crankside(["export", out, "--csv", "--every", "10s"]);
  expect(exported.stdout.split("\n").length).toBeGreaterThan(20);
});

test("the complaint is named where the recording says none; another word is refused with the list", async () => {
  const sample = join(import.meta.dirname, "../../recordings/van-as-it-should-be.ndjson.gz");
  const advised = async (...more: string[]): Promise<Record<string, unknown>> =>
    z
      .looseObject({ complaints: z.array(z.string()) })
      .parse(JSON.parse((await crankside(["read", sample, "--next", "--json", ...more])).stdout));
  expect((await advised())["complaints"]).toEqual([]);
  expect((await advised("--complaint", "lean,no-start"))["complaints"]).toEqual(["no-start", "lean"]);
  const slip = await crankside(["read", sample, "--next", "--complaint", "no-starts"]);
  expect(slip.status).not.toBe(0);
  expect(slip.stdout).toBe("");
  for (const word of [
    "no-starts",
    "no-start (does not start, or hardly)",
    "starts-and-dies",
    "rough",
    "lean",
    "rich",
  ])
    expect(slip.stderr).toContain(word);
});
