/**
 * Service 06: results of the tests that the module makes by itself. On CAN monitor, test and unit are standard: A2 is
 * cylinder 1; test 0B the mean over the last ten driving cycles, 0C this or the last one, unit 24 one count a bit
 * (service manual, Honda Insight 2012; monitor numbers also Ford 2005 summary p. 12); 01 and 05 are the front sensors
 * of bank 1 and 2, tests 07 and 08 their lowest and highest volts, unit 0B 1 mV, unit 20 1/256 (from memory). Before
 * CAN test and component are the maker's own; what they are here is said in `rawTests`.
 */
import type { Bench } from "../bench.ts";
import type { OxygenWatch } from "../module/oxygen.ts";
import { supportMap } from "./encode.ts";

const general = 0xa1;
const unit = { millivolts: 0x0b, ratio: 0x20, count: 0x24 } as const;
/** Limits: the front sensor must swing beyond these, V; the rear may change sides so often for each time of the front. */
const least = 0.6;
const most = 0.3;
const rearShare = 0.7;

/** Value, lowest and highest that pass; null: not run since codes were cleared, which is told as zeros. */
type Result = readonly [value: number, low: number, high: number] | null;
interface Test {
  readonly id: number;
  readonly unit: number;
  readonly result: Result;
}

function word(value: number): [number, number] {
  const n = Math.min(65_535, Math.max(0, Math.round(value)));
  return [n >> 8, n & 255];
}

/** Tests by monitor, as a module on CAN tells them. */
function monitors(bench: Bench): Map<number, readonly Test[]> {
  const all = new Map<number, readonly Test[]>();
  const { diagnosis, misfire } = bench.module;
  diagnosis.oxygen.forEach(({ front, rear }, bank) => {
    all.set(0x01 + 4 * bank, swing(front));
    all.set(0x21 + bank, [{ id: 0x80, unit: unit.ratio, result: stored(front, rear, 256) }]);
  });
  const sum = (list: Float64Array): number => list.reduce((a, b) => a + b, 0);
  all.set(general, counts(sum(misfire.averages), sum(misfire.counts)));
  misfire.counts.forEach((count, c) => all.set(general + 1 + c, counts(misfire.averages[c] ?? 0, count)));
  return all;
}

/** There are no limits, so least and most are the whole range. */
function counts(mean: number, now: number): Test[] {
  return [
    { id: 0x0b, unit: unit.count, result: [mean, 0, 65_535] },
    { id: 0x0c, unit: unit.count, result: [now, 0, 65_535] },
  ];
}

function swing(front: OxygenWatch): Test[] {
  const { done, lowest, highest } = front;
  return [
    { id: 0x07, unit: unit.millivolts, result: done ? [lowest * 1000, 0, most * 1000] : null },
    { id: 0x08, unit: unit.millivolts, result: done ? [highest * 1000, least * 1000, 1275] : null },
  ];
}

/** How often the rear sensor changes sides for each time of the front: a catalyst that stores oxygen keeps it still. */
function stored(front: OxygenWatch, rear: OxygenWatch, scale: number): Result {
  if (!front.done || front.changes === 0) return null;
  return [(scale * rear.changes) / front.changes, 0, scale * rearShare];
}

/** The message that answers a request for one monitor on CAN, or none. */
export function testResults(bench: Bench, monitor: number): number[][] {
  const all = monitors(bench);
  const ids = [...all.keys()];
  if (monitor % 32 === 0) {
    return ids.some((id) => id > monitor) ? [[0x46, monitor, ...supportMap(monitor, ids)]] : [];
  }
  const tests = all.get(monitor);
  if (tests === undefined) return [];
  const bytes = tests.flatMap(({ id, unit: u, result }) => [
    ...[monitor, id, u],
    ...(result ?? [0, 0, 0]).flatMap(word),
  ]);
  return [[0x46, ...bytes]];
}

/**
 * The answers outside CAN, one message a component: test 01 the catalyst by bank (highest value, 1/256), test 02 the
 * front sensor's highest voltage by bank (lowest value, 5 mV), test 03 misfires of this cycle by cylinder (highest).
 */
export function rawTests(bench: Bench, test: number): number[][] {
  if (test % 32 === 0) return test === 0 ? [[0x46, 0x00, 0xff, ...supportMap(0, [0x01, 0x02, 0x03])]] : [];
  const { diagnosis, misfire } = bench.module;
  const say = (component: number, value: number, limit: number): number[] => [
    ...[0x46, test, component],
    ...word(value),
    ...word(limit),
  ];
  switch (test) {
    case 0x01:
      return diagnosis.oxygen.map(({ front, rear }, bank) => {
        const [value] = stored(front, rear, 256) ?? [0];
        return say(bank + 1, value, 256 * rearShare);
      });
    case 0x02:
      // The top bit of the component says that the limit is a lowest value (from memory).
      return diagnosis.oxygen.map(({ front }, bank) =>
        say(0x80 | (bank + 1), front.done ? front.highest * 200 : 0, front.done ? least * 200 : 0),
      );
    case 0x03:
      return [...misfire.counts].map((count, c) => say(c + 1, count, 65_535));
    default:
      return [];
  }
}
