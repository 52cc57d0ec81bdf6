import { afterAll, beforeAll, expect, test } from "vitest";
import { doors } from "./doorsTarget.ts";
import { fuzz, type FuzzResult } from "./fuzz.ts";
import { madAdapter } from "./madAdapter.ts";
import { bundles, csvFiles, recordings, texts } from "./targets.ts";

const mostMb = 256;

function harmless(result: FuzzResult, cases: number): void {
  expect(result.cases).toBeGreaterThanOrEqual(cases);
  expect(result.grewMb).toBeLessThan(mostMb);
  // The promise that nothing hangs; by the processor's time, which other work on the machine does not lengthen.
  expect(result.slowestCpuMs).toBeLessThan(1000);
}

let unhandled: unknown[] = [];
const note = (reason: unknown): void => void unhandled.push(reason);
beforeAll(() => void process.on("unhandledRejection", note));
afterAll(() => {
  process.off("unhandledRejection", note);
  expect(unhandled).toEqual([]);
  unhandled = [];
});

test("20 000 replies of a mad adapter: no crash, no forbidden request, each session closes", async () => {
  harmless(await fuzz(madAdapter, 20_000), 20_000);
}, 120_000);

test("recordings", async () => {
  const result = await fuzz(recordings(), 1500);
  harmless(result, 1500);
  expect(result.refused).toBeGreaterThan(10);
}, 120_000);

test("CSV files and column maps", async () => {
  const result = await fuzz(csvFiles(), 1000);
  harmless(result, 1000);
  expect(result.refused).toBeGreaterThan(10);
}, 120_000);

test("messages, jobs and parameters", async () => {
  const result = await fuzz(texts(), 10_000);
  harmless(result, 10_000);
  expect(result.refused).toBeGreaterThan(1000);
}, 120_000);

test("messages over the socket and bodies over HTTP", async () => {
  const result = await fuzz(await doors(), 1000);
  harmless(result, 1000);
  expect(result.refused).toBeGreaterThan(300);
}, 120_000);

test("bundles", async () => {
  const result = await fuzz(await bundles(), 300);
  harmless(result, 300);
  expect(result.refused).toBeGreaterThan(50);
}, 120_000);
