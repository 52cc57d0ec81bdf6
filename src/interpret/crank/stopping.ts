/**
 * Whether a running engine was shut off by its module, or stopped by itself, told by what went before. An engine that
 * is not throttled by its plate shakes less when the plate closes as it is shut off (common practice; an open data set of
 * a diesel shows it at each stop: plate 83 to 14 %, manifold 100 to 36 kPa, before the last turn). An engine that dies by
 * itself turns its plate nowhere and goes on drawing air. Without such a plate only the vehicle's facts tell.
 */

export const stoppingLimits = {
  /** How far back the plate and the manifold stood where they do while it runs, milliseconds before standing still. */
  beforeMs: 8000,
  beforeEndMs: 2500,
  /** An open plate, %, and how far it closes, as a share of where it stood. */
  openPlate: 50,
  closes: 0.5,
  /** Manifold that no throttle holds down: share of the outside air, and kPa where that is not known. */
  unthrottled: 0.85,
  unthrottledKpa: 65,
  falls: 0.7,
  /** The vehicle stands: km/h, over this long. */
  standing: 3,
  standsMs: 1600,
  /** Nobody on the pedal: points above its lowest, over this long. */
  pedal: 3,
  pedalMs: 2500,
  /** Speed that sinks below this share of idle before the last instants is an engine that dies; milliseconds, rpm. */
  droops: 0.8,
  droopFromMs: 5000,
  droopMs: 1500,
  idle: 600,
  idleMost: 1200,
} as const;

const bucketMs = 500;
const kept = 24;

interface Bucket {
  readonly id: number;
  low: number;
  high: number;
}

/** Lowest and highest of the last seconds. */
class Recent {
  readonly #buckets: Bucket[] = [];

  add(t: number, value: number): void {
    const id = Math.floor(t / bucketMs);
    const last = this.#buckets.at(-1);
    if (last?.id === id) {
      last.low = Math.min(last.low, value);
      last.high = Math.max(last.high, value);
      return;
    }
    this.#buckets.push({ id, low: value, high: value });
    if (this.#buckets.length > kept) this.#buckets.shift();
  }

  low(from: number, to: number): number | null {
    return this.#of(from, to, (b) => b.low, Math.min);
  }

  high(from: number, to: number): number | null {
    return this.#of(from, to, (b) => b.high, Math.max);
  }

  /** The last value before `t`, however old. */
  last(t: number): number | null {
    return this.#buckets.findLast((b) => b.id * bucketMs <= t)?.high ?? null;
  }

  #of(
    from: number,
    to: number,
    edge: (bucket: Bucket) => number,
    worse: (a: number, b: number) => number,
  ): number | null {
    let found: number | null = null;
    for (const b of this.#buckets) {
      if (b.id * bucketMs + bucketMs <= from || b.id * bucketMs > to) continue;
      found = found === null ? edge(b) : worse(found, edge(b));
    }
    return found;
  }
}

const followed: ReadonlySet<string> = new Set([
  "engine-speed",
  "throttle",
  "manifold",
  "vehicle-speed",
  "pedal-d",
]);

export class StopWatch {
  static follows(channel: string): boolean {
    return followed.has(channel);
  }

  readonly #speed = new Recent();
  readonly #plate = new Recent();
  readonly #manifold = new Recent();
  readonly #vehicle = new Recent();
  readonly #pedal = new Recent();
  /** Its speed where the vehicle stands, a slow mean, rpm. */
  #idle: number | null = null;
  #lowestPedal = Number.POSITIVE_INFINITY;

  take(t: number, channel: string, value: number): void {
    switch (channel) {
      case "engine-speed":
        this.#speed.add(t, value);
        if (this.#vehicle.last(t) === 0 && value < stoppingLimits.idleMost)
          this.#idle = (this.#idle ?? value) + (value - (this.#idle ?? value)) * 0.1;
        break;
      case "throttle":
        this.#plate.add(t, value);
        break;
      case "manifold":
        this.#manifold.add(t, value);
        break;
      case "vehicle-speed":
        this.#vehicle.add(t, value);
        break;
      case "pedal-d":
        this.#lowestPedal = Math.min(this.#lowestPedal, value);
        this.#pedal.add(t, value);
        break;
    }
  }

  /**
   * Whether the engine that stands still since `from` was told to. `outside`: air pressure, kPa, or null; `stops`: the
   * facts say that this vehicle shuts its engine off at standstill.
   */
  wasShutOff(from: number, now: number, outside: number | null, stops: boolean | undefined): boolean {
    if (!this.#stood(from) || this.#pressed(from)) return false;
    if (this.#closed(from, now) || this.#pulled(from, now, outside)) return true;
    return stops === true && !this.#drooped(from);
  }

  #stood(from: number): boolean {
    const { standing, standsMs } = stoppingLimits;
    const moved = this.#vehicle.high(from - standsMs, from) ?? this.#vehicle.last(from);
    return moved === null || moved <= standing;
  }

  #pressed(from: number): boolean {
    const pressed = this.#pedal.high(from - stoppingLimits.pedalMs, from);
    return pressed !== null && pressed > this.#lowestPedal + stoppingLimits.pedal;
  }

  #closed(from: number, now: number): boolean {
    const { beforeMs, beforeEndMs, openPlate, closes } = stoppingLimits;
    const stood = this.#plate.low(from - beforeMs, from - beforeEndMs);
    const closed = this.#plate.low(from - beforeEndMs, now);
    return stood !== null && closed !== null && stood >= openPlate && closed <= closes * stood;
  }

  #pulled(from: number, now: number, outside: number | null): boolean {
    const { beforeMs, beforeEndMs, unthrottled, unthrottledKpa, falls } = stoppingLimits;
    const stood = this.#manifold.low(from - beforeMs, from - beforeEndMs);
    const pulled = this.#manifold.low(from - beforeEndMs, now);
    const least = outside === null ? unthrottledKpa : unthrottled * outside;
    return stood !== null && pulled !== null && stood >= least && pulled <= falls * stood;
  }

  #drooped(from: number): boolean {
    const { droopFromMs, droopMs, droops, idle } = stoppingLimits;
    const lowest = this.#speed.low(from - droopFromMs, from - droopMs);
    return lowest !== null && lowest < droops * Math.max(this.#idle ?? 0, idle);
  }
}
