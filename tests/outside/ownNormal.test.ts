/**
 * What is normal for one vehicle, learned from half of its open recordings (carOBD, IEEE document 8891367; "Automotive
 * OBD-II Dataset", DOI 10.35097/1130): the other half stays quiet, and a shift of four learned spreads that is put into
 * its real readings is found. What the trade's range finds of the same shift is printed beside.
 */
import { beforeAll, describe, expect, test } from "vitest";
import {
  Interpreter,
  learnNormal,
  type Findings,
  type Normal,
  type Sign,
} from "../../src/interpret/index.ts";
import type { RecordingNormal } from "../../src/interpret/normal/gather.ts";
import { heldAgainst } from "../../src/interpret/normal/hold.ts";
import type { Reading } from "../../src/reading/index.ts";
import { openData, openDataFiles, type Change } from "../support/openData.ts";
import { dataSet, secondCar } from "../support/tools.ts";

const spreads = 4;

/** What a figure's shift is put into, and how; the figure's own unit. */
interface Shift {
  readonly of: string;
  readonly into: (by: number, level: number) => Change;
}

const add =
  (channel: string, below = Number.POSITIVE_INFINITY) =>
  (by: number): Change =>
  (ch, value) =>
    ch === channel && value < below ? value + by : value;

/** A jitter that no load explains: up and down by turns, so that the roughness grows by so much. */
const jitter = (by: number, level: number): Change => {
  let odd = false;
  const share = Math.sqrt((level + by) ** 2 - level ** 2) / 100;
  return (ch, value) => {
    if (ch !== "engine-speed" || value < 450) return value;
    odd = !odd;
    return value * (1 + (odd ? share : -share));
  };
};

const shifts: Readonly<Record<"carobd" | "second", readonly Shift[]>> = {
  carobd: [
    { of: "trim/b1/idle", into: add("trim-short-b1") },
    { of: "charging", into: add("module-voltage") },
    { of: "idle-manifold", into: add("manifold", 60) },
    { of: "roughness", into: jitter },
  ],
  second: [
    // Air flow for one turn of warm idle: mg a turn to g/s at 770 rpm.
    { of: "idle-air", into: (by: number) => add("air-flow", 12)((by * 770) / 60_000) },
    {
      of: "idle-speed",
      into:
        (by: number): Change =>
        (ch, v) =>
          ch === "engine-speed" && v > 450 && v < 1100 ? v + by : v,
    },
    {
      of: "load-manifold",
      into:
        (by: number): Change =>
        (ch, v) =>
          ch === "manifold" && v > 110 ? v + by : v,
    },
  ],
};

/** The figure as it was learned; of load the zone that the signs use. */
function learned(normal: Normal, of: string) {
  const zone = (f: { of: string }): number => Number(f.of.split("/")[1]);
  const known = normal.figures.filter((f) => f.of === of || f.of.startsWith(`${of}/`));
  const enough = known.filter((f) => f.recordings >= normal.recordings.length / 2);
  return (enough.length > 0 ? enough : known).sort((a, b) => zone(b) - zone(a))[0];
}

interface Judged {
  readonly normal: RecordingNormal;
  readonly trade: Findings;
}

/** One pass for both: by the trade's ranges, and what is held against what was learned. */
function judged(reading: Reading): Judged {
  const interpreter = new Interpreter(reading);
  interpreter.finish();
  return { trade: interpreter.findings(), normal: interpreter.normal() };
}

const outside = (signs: readonly Sign[]): string[] =>
  signs.filter((s) => s.verdict === "outside").map((s) => s.key);

const patience = 600_000;

describe.each([
  ["carobd", dataSet, shifts.carobd],
  ["second", secondCar, shifts.second],
] as const)("%s", (name, folder, puts) => {
  const files = folder === null ? [] : openDataFiles(folder);
  const from = folder ?? "";
  const sound: Judged[] = [];
  let halves: Normal[] = [];

  beforeAll(async () => {
    for (const file of files) sound.push(judged(await openData(from, file)));
    const learning = files.flatMap((file, i) => {
      const of = sound[i];
      return of === undefined ? [] : [{ name: file, normal: of.normal }];
    });
    // Learned from the even files, and from the odd ones.
    halves = [0, 1].flatMap((half) => {
      const those = learning.filter((_, i) => i % 2 === half);
      return those.length === 0 ? [] : [learnNormal(those)];
    });
  }, patience);

  test.skipIf(folder === null)("the half that nothing was learned from stays quiet", () => {
    files.forEach((file, i) => {
      const normal = halves[(i + 1) % 2];
      const of = sound[i];
      if (normal === undefined || of === undefined) throw new Error("not read");
      expect([file, outside(heldAgainst(of.trade.signs, of.normal, normal))]).toEqual([file, []]);
    });
  });

  test.skipIf(folder === null).each([...puts])(
    "a shift of four spreads of $of is found",
    async ({ of, into }: Shift) => {
      const count = { judged: 0, own: 0, trade: 0 };
      const shifted: number[] = [];
      for (const [i, file] of files.entries()) {
        const normal = halves[(i + 1) % 2];
        const before = sound[i];
        const figure = normal === undefined ? undefined : learned(normal, of);
        if (normal === undefined || before === undefined || figure === undefined)
          throw new Error(`${of} was not learned`);
        // Where the figure was never read, as in a recording without a warm idle, there is nothing to find.
        if (!before.normal.figures.some((f) => f.of === figure.of)) continue;
        count.judged += 1;
        const by = spreads * figure.spread;
        shifted.push(by);
        const after = judged(await openData(from, file, into(by, figure.level)));
        const own = heldAgainst(after.trade.signs, after.normal, normal);
        if (own.some((s) => s.verdict === "outside" && s.own?.used === true)) count.own += 1;
        const loud = new Set(outside(before.trade.signs));
        if (outside(after.trade.signs).some((key) => !loud.has(key))) count.trade += 1;
      }
      console.log(
        `${name}, ${of} shifted by ${spreads} spreads (${Math.min(...shifted).toFixed(2)} to ${Math.max(...shifted).toFixed(2)}): ` +
          `${count.own} of ${count.judged} found by this vehicle's own band, ${count.trade} by the trade's; ${files.length} files`,
      );
      expect(count.judged).toBeGreaterThan(5);
      expect(count.own / count.judged).toBeGreaterThanOrEqual(0.9);
    },
    patience,
  );
});
