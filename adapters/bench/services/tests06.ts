/**
 * Service 06 on CAN: misfire counts by cylinder. Monitor A2 is cylinder 1; test 0B the mean over the last ten
 * driving cycles, 0C this or the last one, unit 24 one count a bit (service manual, Honda Insight 2012; monitor
 * numbers also Ford 2005 summary p. 12). There are no limits, so least and most are the whole range.
 */
import type { Bench } from "../bench.ts";
import { supportMap } from "./encode.ts";

const general = 0xa1;
const unitCount = 0x24;

function monitorIds(bench: Bench): number[] {
  return Array.from({ length: bench.vehicle.firingOrder.length + 1 }, (_, i) => general + i);
}

function test(monitor: number, id: number, count: number): number[] {
  const value = Math.min(65_535, Math.round(count));
  return [monitor, id, unitCount, value >> 8, value & 255, 0x00, 0x00, 0xff, 0xff];
}

/** The message that answers a request for one monitor, or none. */
export function testResults(bench: Bench, monitor: number): number[][] {
  const ids = monitorIds(bench);
  if (monitor % 32 === 0) {
    return ids.some((id) => id > monitor) ? [[0x46, monitor, ...supportMap(monitor, ids)]] : [];
  }
  if (!ids.includes(monitor)) return [];
  const { counts, averages } = bench.module.misfire;
  const of = (list: Float64Array): number =>
    monitor === general ? list.reduce((a, b) => a + b, 0) : (list[monitor - general - 1] ?? 0);
  return [[0x46, ...test(monitor, 0x0b, of(averages)), ...test(monitor, 0x0c, of(counts))]];
}
