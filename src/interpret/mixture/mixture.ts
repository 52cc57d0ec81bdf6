/** Lean or rich: trims in closed loop, by bank, regime and air flow. Sums only; the signs stand in mixture-signs.ts. */
import type { Regime } from "../../../shared/ranges.ts";
import { Correlated } from "../maths/correlated.ts";
import { FigureReadings, Windows } from "../folds/figureReadings.ts";
import type { Zone } from "./mixtureFit.ts";
import { leakShare } from "./mixtureFit.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { Fit } from "../report/schema.ts";
import { Tally } from "../maths/stats.ts";
import { fitZones } from "./mixtureFit.ts";

export type Place = "idle" | "held" | "cruise" | "load" | "on the move";

export const mixtureLimits = {
  /** Long and short trim are read in turn; this far apart they still belong together, milliseconds. */
  pairMs: 8000,
  /** A stay ends with a break of this length, milliseconds. */
  breakMs: 6000,
  /** A short trim that stands at its extreme, %: from here on it may be clipped. */
  clipFrom: 19.5,
  /** Without parameter 03 closed loop is taken for granted from this coolant on, °C. */
  assumedWarm: 60,
  assumedLoad: 70,
  /** Zones of air flow: each a quarter wider than the last. */
  zoneRatio: 1.25,
  /** Fewer readings than this in a zone are passing through. */
  zoneReadings: 3,
  visitBreakMs: 15_000,
  /** Running so long, heater or exhaust has brought a front sensor to work, milliseconds (from memory). */
  heatedMs: 60_000,
  flowMs: 4000,
} as const;

const placeOf: Readonly<Partial<Record<Regime, Place>>> = {
  idle: "idle",
  "idle-warm": "idle",
  "idle-cold": "idle",
  held: "held",
  cruise: "cruise",
  load: "load",
  running: "on the move",
};

export interface PlaceSum {
  readonly trims: Correlated;
  readonly evidence: FigureReadings;
}

export const trimLimits = {
  leastReadings: 10,
  leastSeconds: 20,
  /** A mean is never known better than one step of the code, %. */
  leastUncertainty: 0.8,
} as const;

/** Enough readings of one place to speak of it. */
export function enough(sum: PlaceSum): boolean {
  return sum.trims.n >= trimLimits.leastReadings && sum.evidence.seconds >= trimLimits.leastSeconds;
}

/** Half width of the mean correction of a place, percent. */
export function halfWidth(sum: PlaceSum): number {
  return Math.max(trimLimits.leastUncertainty, sum.trims.halfWidth);
}

interface Visit {
  /** Its last reading, milliseconds. */
  t: number;
  sum: number;
  flow: number;
  choked: number;
  n: number;
}

interface ZoneSum {
  /** Coming back within a break is the same visit: flow that swings across a border is no news. */
  visit: Visit | null;
  visits: number;
  sum: number;
  squares: number;
  flow: number;
  choked: number;
  readings: number;
}

interface Held {
  readonly t: number;
  readonly short: number;
  readonly long: number;
  readonly place: Place;
  readonly flow: number | undefined;
  readonly share: number;
}

/** One bank's sums. */
export class BankSums {
  readonly bank: number;
  readonly shortChannel: string;
  readonly longChannel: string;
  readonly places = new Map<Place, PlaceSum>();
  readonly long = new Tally();
  readonly clippedAt = new Windows();
  clipped = 0;
  taken = 0;
  /** Mean of the clipped corrections, percent. */
  clippedSum = 0;
  readonly #zones = new Map<number, ZoneSum>();
  #held: Held | null = null;
  #before: number | null = null;
  #lastPlace: { place: Place; t: number } | null = null;

  constructor(bank: number) {
    this.bank = bank;
    this.shortChannel = `trim-short-b${bank}`;
    this.longChannel = `trim-long-b${bank}`;
  }

  /** A reading waits for the next one: a plateau shows only then. */
  take(reading: Held | null): void {
    const held = this.#held;
    this.#held = reading;
    if (held !== null) {
      const extreme = Math.abs(held.short) >= mixtureLimits.clipFrom;
      const plateau = held.short === this.#before || held.short === reading?.short;
      this.#place(held, extreme && plateau);
      this.#before = held.short;
    }
    if (reading === null) this.#before = null;
  }

  #place(reading: Held, clipped: boolean): void {
    const correction = reading.short + reading.long;
    this.taken += 1;
    this.long.add(reading.long);
    let sum = this.places.get(reading.place);
    if (sum === undefined) {
      sum = { trims: new Correlated(), evidence: new FigureReadings() };
      this.places.set(reading.place, sum);
    }
    const last = this.#lastPlace;
    const joined = last?.place === reading.place && reading.t - last.t <= mixtureLimits.breakMs;
    sum.trims.add(correction, joined);
    sum.evidence.add(reading.t, correction);
    this.#lastPlace = { place: reading.place, t: reading.t };
    if (clipped) {
      this.clipped += 1;
      this.clippedSum += correction;
      this.clippedAt.add(reading.t);
      return;
    }
    if (reading.flow !== undefined && reading.flow > 0) this.#zone(reading, correction, reading.flow);
  }

  #zone(reading: Held, correction: number, flow: number): void {
    const id = Math.round(Math.log(flow) / Math.log(mixtureLimits.zoneRatio));
    let zone = this.#zones.get(id);
    if (zone === undefined) {
      zone = { visit: null, visits: 0, sum: 0, squares: 0, flow: 0, choked: 0, readings: 0 };
      this.#zones.set(id, zone);
    }
    if (zone.visit !== null && reading.t - zone.visit.t > mixtureLimits.visitBreakMs) closeVisit(zone);
    zone.visit ??= { t: reading.t, sum: 0, flow: 0, choked: 0, n: 0 };
    zone.visit.t = reading.t;
    zone.visit.sum += correction;
    zone.visit.flow += flow;
    zone.visit.choked += reading.share;
    zone.visit.n += 1;
  }

  /** Zones with enough readings to count, by flow. */
  zones(): Zone[] {
    return [...this.#zones]
      .sort((a, b) => a[0] - b[0])
      .map(([, zone]) => {
        const z = { ...zone };
        closeVisit(z);
        return z;
      })
      .filter((z) => z.readings >= mixtureLimits.zoneReadings)
      .map((z) => ({
        flow: z.flow / z.visits,
        correction: z.sum / z.visits,
        choked: z.choked / z.visits,
        visits: z.visits,
        squares: Math.max(0, z.squares - (z.sum * z.sum) / z.visits),
        readings: z.readings,
      }));
  }

  fit(): Fit | null {
    return fitZones(this.bank, this.zones());
  }
}

function closeVisit(zone: ZoneSum): void {
  const { visit } = zone;
  zone.visit = null;
  if (visit === null) return;
  const mean = visit.sum / visit.n;
  zone.visits += 1;
  zone.sum += mean;
  zone.squares += mean * mean;
  zone.flow += visit.flow / visit.n;
  zone.choked += visit.choked / visit.n;
  zone.readings += visit.n;
}

/** Whether a front sensor left the voltage it has when cold. */
export interface Waking {
  readonly evidence: FigureReadings;
  /** Readings away from idle: the exhaust itself is hot then. */
  readonly hot: Windows;
}

/** The bank that a front sensor's channel names, such as "oxygen-b2s1". */
const bankOf = (channel: string): number => (channel.endsWith("b2s1") ? 2 : 1);

export class Mixture implements Topic {
  readonly banks = [new BankSums(1), new BankSums(2)] as const;
  /** Loop states of the warm running engine, load and overrun left out. */
  readonly loop = new FigureReadings();
  /** Readings of "open loop because of a fault" while the engine runs, warm or not. */
  readonly faulted = new FigureReadings();
  readonly sensors = new Map<string, FigureReadings>();
  /** Front sensors of an engine that has run long enough to heat them, in any loop. */
  readonly woken = new Map<string, Waking>();
  readonly lambdas = new Map<string, FigureReadings>();
  readonly fuelLevel = new FigureReadings();
  readonly fuelPressure = new FigureReadings();
  airFlowSeen = false;
  manifoldSeen = false;
  loopSeen = false;
  #longSeen = new Set<string>();
  #runningSince: number | null = null;

  take(instant: Instant): void {
    if (!instant.running) this.#runningSince = null;
    else this.#runningSince ??= instant.since;
    for (const { channel, value } of instant.readings)
      if (!Number.isNaN(value)) this.#note(instant, channel, value);
    for (const bank of this.banks) this.#bank(bank, instant);
  }

  #note(instant: Instant, channel: string, value: number): void {
    const { t } = instant;
    if (channel === "air-flow") this.airFlowSeen = true;
    else if (channel === "manifold") this.manifoldSeen = true;
    else if (channel === "fuel-level") this.fuelLevel.add(t, value);
    else if (channel === "fuel-pressure" && this.#settled(t)) this.fuelPressure.add(t, value);
    else if (channel.startsWith("trim-long-")) this.#longSeen.add(channel);
    else if (channel === "fuel-system-1") {
      this.loopSeen = true;
      if (value === 0x08 && instant.running) this.faulted.add(t, value);
      const warm = (instant.latest("coolant", Number.POSITIVE_INFINITY) ?? 0) >= 70;
      const steady = placeOf[instant.regime] !== undefined && instant.regime !== "load";
      if (warm && steady && this.#settled(t, 60_000)) this.loop.add(t, value);
    } else if (channel.startsWith("oxygen-b") && channel.endsWith("s1")) {
      this.#closed(instant, bankOf(channel), this.sensors, { channel, value });
      this.#waking(instant, channel, value);
    } else if (/^lambda(-current)?-b\ds1$/.test(channel))
      this.#closed(instant, bankOf(channel), this.lambdas, { channel, value });
  }

  #waking(instant: Instant, channel: string, value: number): void {
    if (!this.#settled(instant.t, mixtureLimits.heatedMs)) return;
    let waking = this.woken.get(channel);
    if (waking === undefined) {
      waking = { evidence: new FigureReadings(), hot: new Windows() };
      this.woken.set(channel, waking);
    }
    waking.evidence.add(instant.t, value);
    if (!instant.idling && placeOf[instant.regime] !== undefined) waking.hot.add(instant.t);
  }

  #settled(t: number, ms = 20_000): boolean {
    return this.#runningSince !== null && t - this.#runningSince >= ms;
  }

  #closed(
    instant: Instant,
    bank: number,
    into: Map<string, FigureReadings>,
    reading: { readonly channel: string; readonly value: number },
  ): void {
    const place = placeOf[instant.regime];
    if (place === undefined || place === "load" || !this.#loopClosed(instant, bank, place)) return;
    if (!this.#settled(instant.t)) return;
    const evidence = into.get(reading.channel) ?? new FigureReadings();
    evidence.add(instant.t, reading.value);
    into.set(reading.channel, evidence);
  }

  /** Trims are evidence in closed loop only: 02, or 10 with one sensor path faulty. */
  #loopClosed(instant: Instant, bank: number, place: Place): boolean {
    const first = instant.latest("fuel-system-1", mixtureLimits.pairMs);
    const second = instant.latest("fuel-system-2", mixtureLimits.pairMs);
    const state = bank === 2 && second !== undefined && second !== 0 ? second : first;
    if (state !== undefined) return state === 0x02 || state === 0x10;
    if (this.loopSeen) return false;
    const coolant = instant.latest("coolant", Number.POSITIVE_INFINITY);
    const load = instant.latest("load", mixtureLimits.pairMs);
    const warm =
      coolant === undefined ? this.#settled(instant.t, 300_000) : coolant >= mixtureLimits.assumedWarm;
    return warm && place !== "load" && (load === undefined || load < mixtureLimits.assumedLoad);
  }

  #bank(sums: BankSums, instant: Instant): void {
    const { shortChannel, longChannel } = sums;
    const short = instant.get(shortChannel);
    if (short === undefined) return;
    const place = placeOf[instant.regime];
    if (place === undefined || !this.#loopClosed(instant, sums.bank, place) || !this.#settled(instant.t)) {
      sums.take(null);
      return;
    }
    const long = instant.latest(longChannel, mixtureLimits.pairMs);
    if (long === undefined && this.#longSeen.has(longChannel)) return;
    const manifold = instant.latest("manifold", mixtureLimits.flowMs);
    const barometric = instant.latest("barometric", Number.POSITIVE_INFINITY) ?? 101.3;
    sums.take({
      t: instant.t,
      short,
      long: long ?? 0,
      place,
      flow: instant.latest("air-flow", mixtureLimits.flowMs),
      share: manifold === undefined ? 1 : leakShare(manifold / barometric),
    });
  }
}
