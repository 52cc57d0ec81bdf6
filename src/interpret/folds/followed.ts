import { regimeLimits } from "./regimeLimits.ts";
import type { Surroundings } from "./running.ts";

/** A reading of the instant that is being taken; NaN is asked and not answered. */
export interface InstantReading {
  readonly channel: string;
  readonly module: string;
  readonly value: number;
}

interface Slot {
  channel: string;
  module: string;
  value: number;
}

/**
 * Instants of one reading, which nearly all are, made once and used again: an hour holds hundreds of thousands. What
 * was handed back must not be looked at any more.
 */
export class SpareInstants {
  readonly #spare: Slot[][] = [];

  begin(channel: string, module: string, value: number): InstantReading[] {
    const readings = this.#spare.pop();
    const slot = readings?.[0];
    if (readings === undefined || slot === undefined) return [{ channel, module, value }];
    slot.channel = channel;
    slot.module = module;
    slot.value = value;
    return readings;
  }

  handBack(readings: InstantReading[]): void {
    if (readings.length === 1 && this.#spare.length < mostSpare) this.#spare.push(readings);
  }
}

const mostSpare = 4096;

/** The lowest address of those that answered, or the one that was asked. */
export function ownerOf(channel: string, module: string, readings: readonly InstantReading[]): string {
  const answered = readings.filter((r) => r.channel === channel && !Number.isNaN(r.value));
  return answered.map((r) => r.module).sort()[0] ?? module;
}

/** The latest values of the channels that tell one regime from another. */
export class Followed {
  readonly #owner = new Map<string, string>();
  readonly #latest = new Map<string, { t: number; value: number }>();
  #lowestThrottle = Number.POSITIVE_INFINITY;
  #lowestPedal = Number.POSITIVE_INFINITY;

  take(t: number, readings: readonly InstantReading[]): void {
    for (const { channel, module, value } of readings) {
      if (!followedSet.has(channel) || Number.isNaN(value) || !this.owns(channel, module, readings)) continue;
      if (channel === "throttle") this.#lowestThrottle = Math.min(this.#lowestThrottle, value);
      if (channel === "pedal-d") this.#lowestPedal = Math.min(this.#lowestPedal, value);
      this.#latest.set(channel, { t, value });
    }
  }

  /** The module whose answers count for a channel: the first that gave one, the lowest address in a tie. */
  owns(channel: string, module: string, readings: readonly InstantReading[]): boolean {
    let owner = this.#owner.get(channel);
    if (owner === undefined) {
      owner = ownerOf(channel, module, readings);
      this.#owner.set(channel, owner);
    }
    return owner === module;
  }

  /** The latest value if it is fresh enough to speak of now, else null. */
  value(channel: FollowedChannel, t: number): number | null {
    const latest = this.#latest.get(channel);
    return latest === undefined || t - latest.t > regimeLimits.staleMs ? null : latest.value;
  }

  surroundings(t: number): Surroundings {
    const pedal = this.value("pedal-d", t);
    const throttle = this.value("throttle", t);
    return {
      load: this.value("load", t),
      manifold: this.value("manifold", t),
      // Barometric pressure is asked seldom and hardly changes: its age does not matter. Coolant is slow.
      barometric: this.#latest.get("barometric")?.value ?? null,
      vehicleSpeed: this.value("vehicle-speed", t),
      coolant: this.#latest.get("coolant")?.value ?? null,
      throttleClosed:
        pedal !== null
          ? pedal <= this.#lowestPedal + 1.5
          : throttle !== null
            ? throttle <= this.#lowestThrottle + 4
            : null,
      loop: this.value("fuel-system-1", t),
    };
  }
}

const followed = [
  "load",
  "manifold",
  "barometric",
  "vehicle-speed",
  "coolant",
  "throttle",
  "pedal-d",
  "fuel-system-1",
  "run-time",
] as const;
export type FollowedChannel = (typeof followed)[number];
const followedSet: ReadonlySet<string> = new Set(followed);
