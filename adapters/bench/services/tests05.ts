/**
 * Service 05, which only buses before CAN have: oxygen sensor tests. A request names test and sensor, the sensor as one
 * bit in the order of parameter 13. Tests 01 to 06: public list "OBD-II PIDs"; 07 to 0A and the scalings from memory of
 * SAE J1979.
 */
import type { Bench } from "../bench.ts";
import { switchFrom, switchTo, type OxygenWatch } from "../module/oxygen.ts";
import { richAbove, leanBelow } from "../module/trims.ts";
import { supportMap } from "./encode.ts";

const byte = (value: number): number => Math.min(255, Math.max(0, Math.round(value)));
const volts = (v: number): number => byte(v * 200);
const shortTime = (s: number): number => byte(s * 250);
const longTime = (s: number): number => byte(s * 25);

type Bytes = (watch: OxygenWatch) => readonly number[];

/** Value, and lowest and highest where the test has limits. */
const front: ReadonlyMap<number, Bytes> = new Map<number, Bytes>([
  [0x01, () => [volts(leanBelow)]],
  [0x02, () => [volts(richAbove)]],
  [0x03, () => [volts(switchFrom)]],
  [0x04, () => [volts(switchTo)]],
  [0x05, (w) => [shortTime(w.falls), 0, shortTime(0.4)]],
  [0x06, (w) => [shortTime(w.rises), 0, shortTime(0.4)]],
  [0x07, (w) => [volts(w.lowest), 0, volts(0.3)]],
  [0x08, (w) => [volts(w.highest), volts(0.6), 255]],
  [0x09, (w) => [longTime(w.between), 0, longTime(5)]],
  [0x0a, (w) => [longTime(w.period), 0, longTime(10)]],
]);
/** Behind a catalyst a sensor hardly moves: lowest and highest are all that is kept, without limits. */
const rear: ReadonlyMap<number, Bytes> = new Map<number, Bytes>([
  [0x07, (w) => [volts(w.lowest)]],
  [0x08, (w) => [volts(w.highest)]],
]);

/** The answer, or none for a test or sensor there is not; a test that has not run since clearing is all zeros. */
export function oxygenResults(bench: Bench, [test = 0, sensor = 0]: readonly number[]): number[][] {
  const bit = Math.log2(sensor);
  const bank = bench.module.diagnosis.oxygen[bit >> 2];
  if (!Number.isInteger(bit) || bank === undefined || (bit & 3) > 1) return [];
  const place = (bit & 3) === 0 ? front : rear;
  if (test % 32 === 0) {
    return test === 0 ? [[0x45, 0x00, sensor, ...supportMap(0, [...place.keys()])]] : [];
  }
  const watch = place === front ? bank.front : bank.rear;
  const bytes = place.get(test)?.(watch);
  if (bytes === undefined) return [];
  const constant = test <= 0x04;
  return [[0x45, test, sensor, ...(constant || watch.done ? bytes : bytes.map(() => 0))]];
}
