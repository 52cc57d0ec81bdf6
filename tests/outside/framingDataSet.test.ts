/**
 * Real reply bytes of one car: the open data set carOBD (eron93br, commit bf09e1c; IEEE document 8891367), read
 * from beside the checkout and never copied into it.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { readReply, splitService01 } from "../../adapters/framing/index.ts";
import { decodeParameter, unscale } from "../../shared/decode.ts";
import { parameterByPid } from "../../shared/parameters.ts";
import { dataSet } from "../support/tools.ts";

const withData = test.skipIf(dataSet === null);

interface Answer {
  readonly seconds: number;
  /** Parameter and data, without the service byte. */
  readonly hex: string;
}

function answers(): Answer[] {
  const text = readFileSync(join(dataSet ?? "", "raw-replies.txt"), "utf8");
  return text.split("\n").flatMap((line) => {
    const match = /^(\d+\.\d):([0-9a-f]+),?\s*$/.exec(line);
    return match === null ? [] : [{ seconds: Number(match[1]), hex: match[2] ?? "" }];
  });
}

/** What a healthy petrol car of 1.5 L that warms up at idle can show, table units. */
const plausible: Readonly<Record<string, readonly [low: number, high: number]>> = {
  load: [0, 100],
  coolant: [20, 100],
  "trim-short-b1": [-15, 15],
  "trim-long-b1": [-15, 15],
  "engine-speed": [0, 2500],
  "vehicle-speed": [0, 0],
  advance: [-20, 40],
  "intake-air": [10, 60],
  throttle: [10, 30],
  "oxygen-b1s2": [0, 1.275],
  "run-time": [0, 600],
  "distance-mil": [0, 0],
  purge: [0, 100],
  "fuel-level": [0, 100],
  "warm-ups": [0, 255],
  "distance-clear": [0, 65_535],
  barometric: [95, 105],
  "catalyst-b1s1": [20, 500],
  "module-voltage": [11.5, 14.8],
  "lambda-commanded": [0.7, 1.2],
  "throttle-relative": [0, 20],
  "throttle-b": [0, 100],
  "pedal-d": [0, 30],
  "pedal-e": [0, 40],
  "throttle-commanded": [0, 40],
};

withData(
  "every real reply is read whole, decodes to a plausible value, and scales back to its own code",
  () => {
    const all = answers();
    // Counted in the file apart from this code: 25 parameters, six or seven times each.
    expect(all.length).toBe(161);
    const seen = new Set<string>();
    for (const { hex } of all) {
      const line = `41${hex}`;
      const pieces = readReply([line], "can11-500");
      const [piece] = pieces;
      if (pieces.length !== 1 || piece?.kind !== "message") throw new Error(`not one message: ${line}`);
      const { parts, leftover } = splitService01(piece.data);
      expect([line, parts.length, leftover.length]).toEqual([line, 1, 0]);
      for (const { pid, data } of parts) {
        const row = parameterByPid.get(pid);
        if (row === undefined) throw new Error(`no row for ${line}`);
        for (const { value, number } of decodeParameter(row, data)) {
          const range = plausible[value.channel];
          if (range === undefined) throw new Error(`no range for ${value.channel}`);
          seen.add(value.channel);
          expect(number, `${value.channel} of ${line}`).toBeGreaterThanOrEqual(range[0]);
          expect(number, `${value.channel} of ${line}`).toBeLessThanOrEqual(range[1]);
          const raw = Buffer.from(data).readUIntBE(value.at, value.len);
          expect(unscale(value, number)).toBeCloseTo(raw, 6);
        }
      }
    }
    expect([...seen].sort()).toEqual(Object.keys(plausible).sort());
  },
);

withData(
  "the physics of a start shows: speed from rest, run time by the clock, the alternator takes over",
  () => {
    const series = new Map<number, { seconds: number; value: number }[]>();
    for (const { seconds, hex } of answers()) {
      const [piece] = readReply([`41${hex}`], null);
      if (piece?.kind !== "message") continue;
      for (const { pid, data } of splitService01(piece.data).parts) {
        const row = parameterByPid.get(pid);
        const value = row === undefined ? undefined : decodeParameter(row, data)[0]?.number;
        if (value === undefined) continue;
        series.set(pid, [...(series.get(pid) ?? []), { seconds, value }]);
      }
    }
    const speed = series.get(0x0c) ?? [];
    expect(speed[0]?.value).toBe(0);
    expect(speed.slice(1).every(({ value }) => value > 500)).toBe(true);
    // Run time counts seconds, as the logger's own clock does.
    const running = (series.get(0x1f) ?? []).filter(({ value }) => value > 0);
    const [first] = running;
    const last = running[running.length - 1];
    if (first === undefined || last === undefined) throw new Error("no run time");
    expect(Math.abs(last.value - first.value - (last.seconds - first.seconds))).toBeLessThan(1.5);
    const volts = series.get(0x42) ?? [];
    expect(volts[0]?.value).toBeLessThan(13);
    expect(volts.slice(1).every(({ value }) => value > 13.5)).toBe(true);
    const coolant = (series.get(0x05) ?? []).map(({ value }) => value);
    expect(coolant.every((value, i) => i === 0 || value >= (coolant[i - 1] ?? 0))).toBe(true);
  },
);
