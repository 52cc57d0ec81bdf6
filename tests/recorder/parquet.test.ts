/** Tables that are exported are read back by another library (hyparquet), to every value. */
import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, utimesSync, writeFileSync } from "node:fs";
import { join, relative } from "node:path";
import fc from "fast-check";
import { asyncBufferFromFile, parquetMetadataAsync, parquetReadObjects } from "hyparquet";
import { beforeAll, expect, test } from "vitest";
import { inWords } from "../../shared/decode.ts";
import { exportParquet } from "../../src/recorder/parquet/export.ts";
import { eventColumns, readingColumns } from "../../src/recorder/parquet/columns.ts";
import { madePath } from "../../src/recorder/parquet/made.ts";
import { groupRows, TableFile } from "../../src/recorder/parquet/tableFile.ts";
import { interpret } from "../../src/interpret/index.ts";
import { effectiveFacts } from "../../src/sheet/effectiveFacts.ts";
import { newJob, type JobDocument } from "../../src/sheet/job.ts";
import { nothingMasked } from "../../src/sheet/mask.ts";
import { eventKinds, recordingEvents } from "../../src/sheet/rows/events.ts";
import { benchRecording, readText } from "../support/benchRecording.ts";
import { headerText, tempFolder } from "./support.ts";

const plainly = { masking: nothingMasked, writer: "crankside test" };
let started = "";

beforeAll(async () => {
  const text = await benchRecording({
    ...{ vehicle: "garden-van", script: "start-and-idle", seed: 3, survey: true },
  });
  started = text.replace(
    '"started":"2024-01-01T00:00:00.000Z","from":"bench"',
    '"started":"2024-03-02T09:00:00.000+01:00","from":"bench:garden-van"',
  );
}, 180_000);

/** Two modules, an enumeration, a lost link, a mark, and a question without answer. */
const byHand =
  headerText
    .replace('"protocol":null', '"protocol":"can11-500"')
    .replace('"vehicle":{}', '"vehicle":{"name":"Cart 7/8"}') +
  [
    '{"t":0.137,"k":"x","ask":"010C","lines":["7E804410C1AF8","7E904410C1AF4"],"first":10.001,"end":12}',
    '{"t":200,"k":"x","ask":"0103","lines":["7E80441030200"],"first":10,"end":12}',
    '{"t":400,"k":"link","state":"lost","why":"unplugged"}',
    '{"t":2400,"k":"link","state":"back"}',
    '{"t":2500,"k":"x","ask":"010C","lines":["7E804410C0E96"],"first":0,"end":12}',
    '{"t":2600,"k":"x","ask":"010C","lines":["NO DATA"],"first":0,"end":12}',
    '{"t":2650,"k":"mark","id":"m1","at":2600,"label":"Mary Baker looked on"}',
    "",
  ].join("\n");

function jobOf(id: string, parts: Partial<JobDocument>): JobDocument {
  return { ...newJob(id, "2024-03-02T08:50:00.000+01:00"), ...parts };
}

function folderWith(files: Readonly<Record<string, string>>, jobs: readonly JobDocument[] = []): string {
  const folder = tempFolder();
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
  for (const job of jobs) {
    mkdirSync(join(folder, "jobs", job.id), { recursive: true });
    writeFileSync(join(folder, "jobs", job.id, "job.json"), JSON.stringify(job));
  }
  return folder;
}

const tie = (file: string) => ({
  ...{ order: 0, tie: { file, bytes: 1, sha256: "0".repeat(64) } },
  ...{ started: "2024-03-02T09:00:00.000+01:00", from: "bench", invented: true, caption: "" },
});

type Row = Record<string, unknown>;

async function rowsOf(path: string): Promise<Row[]> {
  return parquetReadObjects({ file: await asyncBufferFromFile(path) });
}

function filesIn(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: "utf8" })
    .filter((name) => statSync(join(folder, name)).isFile())
    .sort();
}

async function everyRow(out: string, table: string): Promise<Row[]> {
  const rows = await Promise.all(
    filesIn(join(out, table)).map(async (file) => rowsOf(join(out, table, file))),
  );
  return rows.flat();
}

test("every reading comes back as it was read, with its time, unit, words and regime", async () => {
  const folder = folderWith({ "van.ndjson": started, "cart.ndjson": byHand });
  const out = join(tempFolder(), "tables");
  const told = await exportParquet([folder], out, plainly);
  expect(told).toMatchObject({ written: 2, kept: 0, problems: [] });
  expect(filesIn(out)).toEqual([
    "events/vehicle=Cart%207%2F8/month=2024-03/cart.parquet",
    "events/vehicle=unknown/month=2024-03/van.parquet",
    "readings/vehicle=Cart%207%2F8/month=2024-03/cart.parquet",
    "readings/vehicle=unknown/month=2024-03/van.parquet",
  ]);
  for (const [name, place, text] of [
    ["van", "vehicle=unknown", started],
    ["cart", "vehicle=Cart%207%2F8", byHand],
  ] as const) {
    const reading = readText(text);
    const findings = interpret(reading);
    const zero = Date.parse("2024-03-02T09:00:00.000+01:00") * 1000;
    const expected = reading.channels.all().flatMap((series) => {
      const info = reading.info(series.channel);
      const named = ["state", "bits", "code"].includes(info.unit);
      return [...series.times].map((t, i): Row => {
        const value = series.values[i] ?? Number.NaN;
        const us = Math.round(t * 1000);
        return {
          recording: name,
          module: series.module === "" ? null : series.module,
          channel: series.channel,
          t: BigInt(us),
          time: new Date((zero + us) / 1000),
          zone: "+01:00",
          value: Number.isNaN(value) ? null : value,
          unit: info.unit,
          words: named && !Number.isNaN(value) ? inWords(info, value, "metric") : null,
          regime: findings.regimes.find((r) => r.from <= t && t < r.to)?.regime ?? null,
        };
      });
    });
    const rows = await rowsOf(join(out, "readings", place, "month=2024-03", `${name}.parquet`));
    expect(rows.length).toBe(expected.length);
    expect(rows).toEqual(expected);
    expect(rows.some((r) => r["value"] === null)).toBe(true);
  }
});

test("signs, cranks, codes and marks stand as they were found", async () => {
  const folder = folderWith({ "van.ndjson": started });
  const out = join(tempFolder(), "tables");
  await exportParquet([folder], out, plainly);
  const reading = readText(started);
  const { facts } = effectiveFacts(reading.facts, null, "van.ndjson");
  const findings = interpret(reading, facts.vehicle);
  const rows = await everyRow(out, "events");
  const expected = recordingEvents(reading, findings, facts);
  expect(rows).toHaveLength(expected.length);
  const count = (kind: string): number => rows.filter((r) => r["kind"] === kind).length;
  expect(count("sign")).toBe(findings.signs.length);
  expect(count("code")).toBe(findings.codes.length);
  const speed = rows.find((r) => r["kind"] === "crank" && r["about"] === "speed");
  const [crank] = findings.cranks;
  expect(speed).toMatchObject({ n: 1, value: crank?.speed?.value, unit: "rpm", verdict: crank?.outcome });
  expect(speed?.["t"]).toBe(BigInt(Math.round((crank?.from ?? 0) * 1000)));
  expected.forEach(({ kind, of, value, verdict, words, t, until, low, high, samples }, i) => {
    const whole = (ms: number | null): bigint | null => (ms === null ? null : BigInt(Math.round(ms * 1000)));
    expect(rows[i]).toMatchObject({
      kind,
      about: of,
      value,
      verdict,
      words,
      low,
      high,
      samples,
      recording: "van",
    });
    expect([rows[i]?.["t"], rows[i]?.["until"]]).toEqual([whole(t), whole(until)]);
  });
});

test("what a job says comes with the recordings it ties", async () => {
  const at = "2024-03-02T09:20:00.000+01:00";
  const job = jobOf("2024-03-02-van", {
    vehicle: { name: "Garden van", batteryYear: 2019 },
    recordings: { r: tie("van.ndjson") },
    log: {
      a: { order: 0, entry: { k: "result", id: "a", at, check: "relay-swap", outcome: "works" } },
      b: { order: 1, entry: { k: "result", id: "b", at, check: "relay-back", outcome: "returns" } },
    },
    causes: {
      c: { order: 0, cause: "relay-open", name: "Relay", standing: "proved", proof: "swapped twice" },
    },
  });
  const folder = folderWith({ "van.ndjson": started }, [job]);
  const out = join(tempFolder(), "tables");
  await exportParquet([folder], out, plainly);
  // The job's word on the vehicle holds for its recording too.
  expect(filesIn(out).every((file) => file.includes("vehicle=Garden%20van/"))).toBe(true);
  const rows = await everyRow(out, "events");
  const of = (kind: string): Row[] => rows.filter((r) => r["kind"] === kind);
  expect(of("tie")).toMatchObject([{ job: job.id, recording: "van" }]);
  expect(of("result")).toMatchObject([
    { about: "relay-swap", verdict: "works", job: job.id, time: new Date(at), zone: "+01:00" },
    { about: "relay-back", verdict: "returns" },
  ]);
  expect(of("outcome")).toMatchObject([
    { about: "relay-open", verdict: "proved", words: "Relay: swapped twice" },
  ]);
  expect(of("fact").find((r) => r["about"] === "batteryYear")).toMatchObject({
    value: 2019,
    recording: "van",
  });
});

test("again: only what is new, changed, broken off or gone", async () => {
  const folder = folderWith({ "a.ndjson": byHand, "b.ndjson": byHand, "c.ndjson": byHand });
  const out = join(tempFolder(), "tables");
  let asked = 0;
  const first = await exportParquet([folder], out, { ...plainly, stopped: () => ++asked > 2 });
  expect(first).toMatchObject({ written: 2, kept: 0 });
  // A line that a crash cut short counts as not there.
  writeFileSync(madePath(out), readFileSync(madePath(out), "utf8").slice(0, -9));
  expect(await exportParquet([folder], out, plainly)).toMatchObject({ written: 2, kept: 1 });
  expect(await exportParquet([folder], out, plainly)).toMatchObject({ written: 0, kept: 3, rows: 0 });
  writeFileSync(join(folder, "b.ndjson"), byHand.replace("0E96", "0E97"));
  utimesSync(join(folder, "b.ndjson"), new Date(5000), new Date(5000));
  writeFileSync(join(folder, "d.ndjson"), byHand);
  rmSync(join(folder, "c.ndjson"));
  expect(await exportParquet([folder], out, plainly)).toMatchObject({ written: 2, kept: 1, gone: 1 });
  const names = filesIn(out).map((file) => file.replace(/^.*\//, ""));
  expect(names).toEqual(["a", "b", "d", "a", "b", "d"].map((name) => `${name}.parquet`));
  const speeds = (await everyRow(out, "readings")).filter(
    (r) => r["recording"] === "b" && r["t"] === 2_500_000n,
  );
  expect(speeds.map((r) => r["value"])).toEqual([0x0e97 / 4]);
});

test("another vehicle's name moves a recording, and nothing of it stays behind", async () => {
  const folder = folderWith({ "a.ndjson": byHand });
  const out = join(tempFolder(), "tables");
  await exportParquet([folder], out, plainly);
  writeFileSync(join(folder, "a.ndjson"), byHand.replace("Cart 7/8", "Barrow"));
  await exportParquet([folder], out, plainly);
  expect(filesIn(out)).toEqual(
    ["events", "readings"].map((t) => `${t}/vehicle=Barrow/month=2024-03/a.parquet`),
  );
});

test("a masked export tells nobody's name, plate or VIN, and still tells vehicles apart", async () => {
  const vins = ["1M8GDM9AXKP042788", "1M8GDM9AXKP042799"];
  const texts = vins.map((vin) => byHand.replace('"name":"Cart 7/8"', `"vin":"${vin}"`));
  const jobs = vins.map((vin, i) =>
    jobOf(`2024-03-02-baker-${i}`, {
      who: { mechanic: "", customer: "Mary Baker", plate: "AB-123" },
      vehicle: { vin },
      recordings: { r: tie(`2024-baker-${i}.ndjson`) },
      texts: { complaint: `ab 123 of Mary will not start; VIN ${vin}` },
    }),
  );
  const folder = folderWith(
    { "2024-baker-0.ndjson": texts[0] ?? "", "2024-baker-1.ndjson": texts[1] ?? "" },
    jobs,
  );
  const out = join(tempFolder(), "tables");
  const masking = { vin: true, names: true, plate: true };
  const told = await exportParquet([folder], out, { ...plainly, masking });
  expect(told).toMatchObject({ written: 4, problems: [] });
  const everything = [
    ...filesIn(out),
    ...(await everyRow(out, "events")).flatMap((row) => Object.values(row).map(String)),
    ...(await everyRow(out, "readings")).map((row) => String(row["recording"])),
  ].join("\n");
  expect(everything).not.toMatch(/mary|baker|AB.?123|0427(88|99)/i);
  const vehicles = new Set(filesIn(out).map((file) => /vehicle=([^/]+)/.exec(file)?.[1]));
  expect(vehicles.size).toBe(2);
  const before = filesIn(out);
  rmSync(out, { recursive: true });
  writeFileSync(madePath(out), `${readFileSync(madePath(out), "utf8").split("\n")[0] ?? ""}\n`);
  await exportParquet([folder], out, { ...plainly, masking });
  // The same names as before: what was joined to them still fits.
  expect(filesIn(out)).toEqual(before);
  // Without a mask all of it is written anew.
  expect((await exportParquet([folder], out, plainly)).written).toBe(4);
});

test("a recording that two jobs hold counts once; another one of its name is numbered", async () => {
  const folder = folderWith({ "a.ndjson": byHand }, [jobOf("x", {}), jobOf("y", {})]);
  for (const [job, text] of [
    ["x", byHand],
    ["y", byHand.replace("0E96", "0E97")],
  ] as const) {
    mkdirSync(join(folder, "jobs", job, "recordings"));
    writeFileSync(join(folder, "jobs", job, "recordings", "a.ndjson"), text);
  }
  const out = join(tempFolder(), "tables");
  await exportParquet([folder], out, plainly);
  expect(
    filesIn(join(out, "readings")).map((f) => relative("vehicle=Cart%207%2F8/month=2024-03", f)),
  ).toEqual(["a-2.parquet", "a.parquet"]);
});

test("what cannot be read is told and the rest is written", async () => {
  const folder = folderWith({ "a.ndjson": byHand, "broken.ndjson": "not a recording\n" });
  mkdirSync(join(folder, "jobs", "odd"), { recursive: true });
  writeFileSync(join(folder, "jobs", "odd", "job.json"), "{");
  const out = join(tempFolder(), "tables");
  const { written, problems } = await exportParquet([folder], out, plainly);
  expect(written).toBe(1);
  expect(problems.map((p) => relative(folder, p.source))).toEqual(["broken.ndjson", "jobs/odd/job.json"]);
});

test("the description names every column, in its order, and has ten queries that use no other", () => {
  const text = readFileSync(join(import.meta.dirname, "../../recordings/PARQUET.md"), "utf8");
  for (const [table, columns] of [
    ["readings", readingColumns],
    ["events", eventColumns],
  ] as const) {
    const from = text.indexOf(`## \`${table}\``);
    const first = text.slice(from, text.indexOf("\n\n", text.indexOf("| ---", from)));
    const rows = [...first.matchAll(/^\| `([a-z]+)`\s*\| ([^|]+?)\s*\|/gm)];
    expect(rows.map((match) => match[1])).toEqual(columns.map(({ name }) => name));
    for (const [i, { nullable, name }] of columns.entries())
      if (name !== "time") expect(rows[i]?.[2]?.includes("may be null"), name).toBe(nullable);
  }
  const kinds = [...text.matchAll(/^\| `([a-z-]+)`\s*\|/gm)].map((match) => match[1] ?? "");
  expect(kinds.slice(-eventKinds.length)).toEqual([...eventKinds]);
  const [views, ...queries] = [...text.matchAll(/```sql\n([\s\S]*?)```/g)].map((match) => match[1] ?? "");
  expect(views?.match(/CREATE VIEW/g)).toHaveLength(2);
  expect(queries).toHaveLength(10);
  const known = new Set<string>([...readingColumns, ...eventColumns].map(({ name }) => name));
  for (const name of ["vehicle", "month"]) known.add(name);
  for (const sql of queries)
    for (const [, name = ""] of sql.matchAll(/\b(?:[rcfots])\.([a-z_]+)/g))
      expect(known.has(name) || sql.includes(`AS ${name}`), `${name} in ${sql}`).toBe(true);
});

test("rows go out group by group, and no half file bears its name", async () => {
  const path = join(tempFolder(), "t.parquet");
  const table = new TableFile(path, readingColumns, "test");
  const count = groupRows + 3;
  for (let i = 0; i < count; i++)
    table.add(["r", null, "c", BigInt(i * 20), BigInt(i * 20), "Z", i / 4, "rpm", null, null]);
  expect(readdirSync(join(path, ".."))).toEqual(["t.parquet.part"]);
  expect(statSync(`${path}.part`).size).toBeGreaterThan(1000);
  table.finish();
  const file = await asyncBufferFromFile(path);
  const { row_groups: groups, created_by: by } = await parquetMetadataAsync(file);
  expect(groups.map((g) => Number(g.num_rows))).toEqual([groupRows, 3]);
  expect(groups[0]?.columns.map((c) => c.meta_data?.codec)).toEqual(readingColumns.map(() => "SNAPPY"));
  expect(by).toBe("test");
  const values = await parquetReadObjects({ file, columns: ["value"] });
  expect(values).toHaveLength(count);
  expect(values.every((row, i) => row["value"] === i / 4)).toBe(true);
});

test("any cells come back", async () => {
  const folder = tempFolder();
  const text = fc.option(fc.string({ unit: "grapheme" }));
  const whole = fc.option(fc.integer({ min: -1_000_000, max: 1_000_000 }));
  const us = fc.bigInt({ min: -(2n ** 52n), max: 2n ** 52n });
  const number = fc.option(fc.double({ noNaN: true, noDefaultInfinity: true }));
  const row = fc.tuple(
    ...[text, text, fc.string(), text, whole, fc.option(us), fc.option(us)],
    ...[fc.constant(null), text, text, text, text, whole, whole, number, text, number, number, whole, text],
  );
  let n = 0;
  await fc.assert(
    fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 60 }), async (rows) => {
      const path = join(folder, `${++n}.parquet`);
      const table = new TableFile(path, eventColumns, "test");
      for (const cells of rows) table.add(cells);
      table.finish();
      const back = await rowsOf(path);
      const names = eventColumns.map(({ name }) => name);
      const named = (cells: readonly unknown[]): Row =>
        Object.fromEntries(cells.map((cell, c) => [names[c] ?? "", cell]));
      expect(back).toEqual(rows.map(named));
    }),
    { numRuns: 60 },
  );
});
