/**
 * What is learned of one vehicle: one figure a recording. `floor` is the least spread that is believed, in the figure's
 * unit, and `floorShare` as a share of its level: one step of a code, and what a warm engine varies by from day to day
 * (two open data sets: air per turn 2 %, charging 0.1 V; an accessory that runs moves the manifold at idle by some 10 kPa;
 * idle speed within 50 rpm of what is wanted, common practice).
 */
import type { SignId } from "../tables/signs.ts";

export interface FigureRow {
  readonly name: string;
  readonly unit: string;
  /** The sign that it is held against; of trims the one of its side. */
  readonly sign: SignId;
  readonly floor: number;
  readonly floorShare: number;
  readonly channels: readonly string[];
  /** Only more than usual means anything. */
  readonly highOnly?: true;
}

const row = (
  name: string,
  unit: string,
  sign: SignId,
  [floor, floorShare, ...channels]: readonly [number, number, ...string[]],
): FigureRow => ({ name, unit, sign, floor, floorShare, channels });

export const normalRows = {
  "idle-speed": row("warm idle speed, lower quarter", "rpm", "mixture.idle-speed", [15, 0, "engine-speed"]),
  "idle-manifold": row("manifold pressure at warm idle, lower quarter", "kPa", "mixture.idle-manifold", [
    2.5,
    0,
    "manifold",
  ]),
  "idle-air": row("air per turn at warm idle", "mg", "sensor.idle-air-flow", [0, 0.02, "air-flow"]),
  charging: row("volts while running", "V", "power.charging", [0.1, 0, "module-voltage", "socket-voltage"]),
  trim: row("fuel trim", "%", "mixture.trims", [0.8, 0, "trim-short-b1", "trim-long-b1"]),
  growth: row("fuel trim at load, beyond that at idle", "%", "mixture.delivery", [1.6, 0, "trim-short-b1"]),
  roughness: {
    ...row("roughness at idle", "%", "misfire.rough", [0.1, 0, "engine-speed"]),
    highOnly: true,
  },
  "crank-speed-per-volt": row("cranking speed per volt", "rpm/V", "crank.speed", [0, 0.05, "engine-speed"]),
  "pull-down": row("manifold pull-down while cranking", "kPa", "crank.pull-down", [1, 0, "manifold"]),
  "time-to-fire": {
    ...row("time to fire", "s", "crank.time-to-fire", [0.25, 0, "engine-speed"]),
    highOnly: true,
  },
  "load-manifold": row("manifold pressure at a load", "kPa", "sensor.load-manifold", [2, 0, "manifold"]),
} as const satisfies Record<string, FigureRow>;
export type NormalKind = keyof typeof normalRows;

export const normalLimits = {
  /** With fewer recordings nothing is judged. */
  leastRecordings: 3,
  /** Outside beyond so many spreads, near the edge from so many on. */
  outside: 2.5,
  near: 2,
  /** Outside air this far beyond the recordings learned from, °C, is another day than was learned. */
  temperature: 12,
  idleReadings: 10,
  zoneReadings: 10,
  chargingReadings: 10,
  roughGroups: 1,
  /** Zones of air per turn: each a quarter wider than the last. */
  zoneRatio: 1.25,
  /** Load begins here, rpm; and manifold, kPa, above which it is one. */
  loadSpeed: 1400,
} as const;
