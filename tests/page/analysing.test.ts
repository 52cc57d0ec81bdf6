/** Where recordings are read: what a growing one says and how soon, what a whole one says, and what both say in the end. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { eventLine } from "../../shared/recording/format.ts";
import { Analyst } from "../../src/analyst/index.ts";
import { advise } from "../../src/interpret/causes/advice.ts";
import { regimeSpans } from "../../src/interpret/folds/regimeSpans.ts";
import { interpret, type Findings } from "../../src/interpret/index.ts";
import { Analysts } from "../../src/page/lib/recording/analysts.ts";
import type { FromAnalysts, FromRecording } from "../../src/page/lib/recording/analystTalk.ts";
import { ReadCopy, Reading } from "../../src/reading/index.ts";

const sample = gunzipSync(
  readFileSync(join(import.meta.dirname, "../../recordings/truck-cranks-slowly.ndjson.gz")),
);

interface Told {
  readonly at: number;
  readonly say: FromAnalysts;
}

/** A file that grows, who reads it, and all that is said of it. */
class Bench {
  readonly clock = new VirtualClock();
  readonly told: Told[] = [];
  readonly copy = new ReadCopy();
  /** Of the file so far. */
  file: Uint8Array = new Uint8Array(0);
  readonly analysts = new Analysts(
    {
      clock: this.clock,
      rest: () => Promise.resolve(),
      bodyOf: (url) => {
        const rest = this.file.subarray(Number(/\d+$/.exec(url)?.[0]));
        let at = 0;
        const next = (): Promise<Uint8Array | null> => {
          const piece = rest.subarray(at, (at += 50_000));
          return Promise.resolve(piece.length === 0 ? null : piece);
        };
        return Promise.resolve({ next, length: rest.length, leave: () => Promise.resolve() });
      },
    },
    (say) => {
      const kept = structuredClone(say);
      this.told.push({ at: this.clock.now(), say: kept });
      if (kept.kind === "of" && kept.say.kind === "news") this.copy.take(kept.say.news);
    },
  );

  open(live: boolean): void {
    this.analysts.hear({ kind: "open", id: 1, file: "truck", url: "file?from=", live });
  }

  async catchUp(ended: boolean): Promise<void> {
    const caught = (): number => this.all("caught").length;
    const before = caught();
    this.analysts.hear({ kind: "to", id: 1, say: { kind: "catch-up", ask: before, ended } });
    await this.clock.run(() => caught() > before);
  }

  all<K extends FromRecording["kind"]>(kind: K): { at: number; say: Extract<FromRecording, { kind: K }> }[] {
    return this.told.flatMap(({ at, say }) =>
      say.kind === "of" && say.say.kind === kind
        ? [{ at, say: say.say as Extract<FromRecording, { kind: K }> }]
        : [],
    );
  }

  /** The file grows by these bytes, and they are sent as they came. */
  grow(bytes: Uint8Array): void {
    const from = this.file.length;
    this.file = Buffer.concat([this.file, bytes]);
    const at = this.clock.now();
    this.analysts.hear({
      kind: "to",
      id: 1,
      say: { kind: "lines", from, bytes: new Uint8Array(bytes), at },
    });
  }
}

/** The sample's lines with the time at which each was recorded; the header goes with time zero. */
const lines = sample
  .toString()
  .split(/(?<=\n)/)
  .map((text) => {
    const { t = 0, end } = JSON.parse(text) as { t?: number; end?: number };
    return { bytes: Buffer.from(text), at: t + (end ?? 0) };
  });

const namesOf = (findings: Findings): string[] =>
  findings.signs.map(({ key, verdict }) => `${key} ${verdict}`);

function alone(): Reading {
  const reading = new Reading("truck");
  reading.push(sample);
  reading.finish();
  return reading;
}

test("a live recording: tails at once, signs within a third of a second, and in the end what the whole file says", async () => {
  const bench = new Bench();
  bench.open(true);
  await bench.catchUp(false).catch(() => undefined);
  /** When each sign could be known, asked after every quarter second. */
  const known = new Map<string, number>();
  const analyst = new Analyst("truck");
  let asked = 0;
  const first = lines.filter(({ at }) => at < 18_000);
  for (const { bytes, at } of first) {
    await bench.clock.pass(Math.max(0, at - bench.clock.now()));
    const before = bench.all("news").length;
    bench.grow(bytes);
    await Promise.resolve();
    await Promise.resolve();
    expect(bench.all("news").length).toBe(before + 1);
    analyst.push(bytes);
    if (at < asked + 250) continue;
    asked = at;
    for (const name of namesOf(analyst.findings())) if (!known.has(name)) known.set(name, at);
  }
  const found = bench.all("found");
  const late = [...known].map(([name, at]) => {
    const told = found.find(({ say }) => namesOf(say.findings).includes(name));
    return (told?.at ?? Number.POSITIVE_INFINITY) - at;
  });
  expect(late.length).toBeGreaterThan(3);
  expect(Math.max(...late)).toBeLessThanOrEqual(300);
  // What says nothing new comes now and then, not with each look.
  expect(found.length).toBeLessThan(bench.clock.now() / 250);
  expect(bench.all("news").some(({ say }) => say.crank !== null)).toBe(true);

  // The rest of it comes at once.
  bench.grow(Buffer.concat(lines.slice(first.length).map(({ bytes }) => bytes)));
  await bench.catchUp(true);
  await bench.clock.run(() => bench.all("found").some(({ say }) => say.findings.until > 80_000));
  await bench.clock.pass(1000);
  const reading = alone();
  const last = bench.all("found").at(-1)?.say.findings;
  expect(JSON.stringify(last)).toBe(JSON.stringify(interpret(reading)));
  const spans = bench.all("news").findLast(({ say }) => say.spans !== undefined)?.say.spans;
  expect(spans).toEqual(regimeSpans(reading.channels, reading.lastTime));
  const columns = (read: Reading | ReadCopy): unknown =>
    read.channels.all().map((s) => [s.channel, s.module, [...s.times], [...s.values]]);
  expect(columns(bench.copy)).toEqual(columns(reading));
});

test("lines that come before the file was read, twice, or behind a hole are taken once and in order", async () => {
  const bench = new Bench();
  bench.open(true);
  const half = lines.slice(0, 60);
  for (const { bytes } of half) bench.grow(bytes);
  await bench.catchUp(false);
  const at = bench.file.length;
  const say = { kind: "lines", at: 0 } as const;
  const [next, missed, behind] = lines.slice(60, 63).map(({ bytes }) => new Uint8Array(bytes));
  if (next === undefined || missed === undefined || behind === undefined) throw new Error("a short sample");
  bench.file = Buffer.concat([bench.file, next, missed, behind]);
  const hear = (from: number, bytes: Uint8Array): void =>
    bench.analysts.hear({ kind: "to", id: 1, say: { ...say, from, bytes } });
  hear(at, next);
  hear(at, next);
  hear(at + next.length + missed.length, behind);
  await bench.catchUp(false);
  const reading = new Reading("truck");
  reading.push(bench.file);
  expect(bench.all("news").at(-1)?.say.bytes).toBe(bench.file.length);
  expect(bench.copy.channels.all().map((s) => [...s.times])).toEqual(
    reading.channels.all().map((s) => [...s.times]),
  );
});

test("lines that wait together are told of once", async () => {
  const bench = new Bench();
  bench.open(true);
  await bench.catchUp(false).catch(() => undefined);
  for (const { bytes } of lines.slice(0, 200)) bench.grow(bytes);
  await bench.clock.pass(0);
  expect(bench.all("news").filter(({ say }) => say.prompt)).toHaveLength(1);
  expect(bench.all("news").at(-1)?.say.bytes).toBe(bench.file.length);
});

test("a whole recording, read by other facts, and marked days later", async () => {
  const bench = new Bench();
  bench.file = sample;
  bench.open(false);
  await bench.catchUp(true);
  await bench.clock.run(() => bench.all("found").length === 1);
  const reading = alone();
  expect(bench.all("found").at(-1)?.say.findings).toEqual(interpret(reading));
  const vehicle = { ...reading.facts.vehicle, idleRpm: 1900, cylinders: 3 };
  bench.analysts.hear({ kind: "to", id: 1, say: { kind: "read-by", vehicle, normal: undefined } });
  await bench.clock.run(() => bench.all("found").length === 2);
  expect(bench.all("found").at(-1)?.say.findings).toEqual(interpret(reading, vehicle));
  const mark = eventLine({ k: "mark", t: 90_000, id: "later", at: 100, label: "later" });
  bench.file = Buffer.concat([sample, Buffer.from(mark)]);
  await bench.catchUp(true);
  await bench.clock.run(() => bench.all("found").length === 3);
  expect(bench.copy.marks.map(({ id }) => id)).toContain("later");
});

test("a file that cannot be read says why, and what came before it stays", async () => {
  const bench = new Bench();
  bench.file = Buffer.from("no recording\n");
  bench.open(false);
  await bench.catchUp(true);
  expect(bench.all("caught").at(-1)?.say.failure?.code).toBe("not-a-recording");
  expect(bench.all("found")).toEqual([]);
});

test("causes: the newest question is answered, as it is in one go", async () => {
  const bench = new Bench();
  const findings = interpret(alone());
  const about = (complaint: "no-start" | "cranks-slowly") => ({
    situation: { complaints: [complaint], heard: [{ recording: "truck", started: "", findings }] },
    options: {},
  });
  const first = about("no-start");
  const last = about("cranks-slowly");
  bench.analysts.hear({ kind: "weigh", ask: 1, about: first, soon: true });
  bench.analysts.hear({ kind: "weigh", ask: 2, about: last, soon: true });
  await bench.clock.run(() => bench.told.some(({ say }) => say.kind === "advice" && say.ask === 2));
  const advice = bench.told.flatMap(({ say }) => (say.kind === "advice" ? [say] : []));
  expect(advice.map(({ ask }) => ask)).toEqual([2]);
  expect(advice[0]?.advice).toEqual(advise(last.situation));
});

test("causes: a person who waits is answered at once, in the rest after a weighing too", async () => {
  const bench = new Bench();
  const findings = interpret(alone());
  const about = {
    situation: { complaints: ["no-start" as const], heard: [{ recording: "truck", started: "", findings }] },
    options: {},
  };
  const answered = (ask: number): Promise<void> =>
    bench.clock.run(() => bench.told.some(({ say }) => say.kind === "advice" && say.ask === ask));
  bench.analysts.hear({ kind: "weigh", ask: 1, about, soon: true });
  await answered(1);
  const at = bench.clock.now();
  // One that nobody waits for is due after the rest; then a person asks.
  bench.analysts.hear({ kind: "weigh", ask: 2, about, soon: false });
  await bench.clock.pass(100);
  bench.analysts.hear({ kind: "weigh", ask: 3, about, soon: true });
  await answered(3);
  expect(bench.clock.now() - at).toBeLessThan(1000);
  // Asked in the middle of another weighing: nor does it wait behind that one's rest.
  bench.analysts.hear({ kind: "weigh", ask: 4, about, soon: true });
  for (let step = 0; step < 5; step++) await Promise.resolve();
  bench.analysts.hear({ kind: "weigh", ask: 5, about, soon: true });
  await answered(5);
  expect(bench.clock.now() - at).toBeLessThan(1000);
});
