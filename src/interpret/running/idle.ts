/** Warm idle as a whole: speed, manifold pressure, air flow, throttle. */
import type { Context } from "../folds/context.ts";
import { FigureReadings } from "../folds/figureReadings.ts";
import type { KeyOn } from "../sensors/keyOn.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { HeldRange } from "../report/ranges.ts";
import type { Sign } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";
import type { SignId } from "../tables/signs.ts";

const coldIdle = "The idle was cold. Needs half a minute of warm idle.";
/** The middle half of a governed idle lies this close together, as a share of its level: an open data set, 0.4 %. */
const governedSpread = 0.01;
const governed =
  "Fuel alone sets this engine's speed, and the module holds it there on purpose: it heats up, cleans its filter, or distrusts the pedal.";
const leastReadings = 10;
const leastSeconds = 25;
const channels = ["engine-speed", "manifold", "air-flow", "throttle", "load"] as const;
type Channel = (typeof channels)[number];
/** Absolute position below which the throttle counts as closed, %. */
const closedThrottle = 30;

export class Idle implements Topic {
  readonly #pulled = new FigureReadings();
  /** Channels that were read at a cold idle: nothing is said of those, and that is told. */
  readonly #cold = new Set<string>();
  readonly #idle = new Map<string, FigureReadings>(channels.map((c) => [c, new FigureReadings()]));

  take(instant: Instant): void {
    // A dead sensor shows at once, even if the engine dies of it.
    if (!instant.running) return;
    const shut = instant.idling || instant.regime === "run-up";
    const manifold = shut ? instant.get("manifold") : undefined;
    if (manifold !== undefined) {
      const closed = (instant.latest("throttle", 5000) ?? 0) < closedThrottle;
      const turning = (instant.latest("engine-speed", 2000) ?? 0) > 500;
      if (turning && closed) this.#pulled.add(instant.t, manifold);
    }
    if (!instant.idling) return;
    if (instant.regime === "idle-cold") {
      for (const { channel } of instant.readings) this.#cold.add(channel);
      return;
    }
    for (const { channel, value } of instant.readings)
      if (!Number.isNaN(value)) this.#idle.get(channel)?.add(instant.t, value);
  }

  signs(context: Context, keyOn: KeyOn): Sign[] {
    const { ranges } = context;
    const litres = ranges.facts.displacementL;
    return [
      ...this.#speed(context),
      ...this.#sign("mixture.idle-manifold", "manifold", ranges.figure("idle-manifold"), {
        what: "median at warm idle",
        unit: "kPa",
        uncertainty: 2,
      }),
      ...(litres === undefined
        ? []
        : this.#sign("sensor.idle-air-flow", "air-flow", ranges.figure("idle-air-flow"), {
            what: `median air flow at warm idle, per litre of ${litres} L`,
            unit: "g/s",
            uncertainty: 0.3,
            per: litres,
          })),
      ...this.#still(keyOn),
    ];
  }

  #speed(context: Context): Sign[] {
    const range = context.ranges.figure("idle-speed");
    const how = { what: "median warm idle", unit: "rpm", uncertainty: 20 };
    return this.#sign("mixture.idle-speed", "engine-speed", range, how).map((sign) => {
      const tally = this.#idle.get("engine-speed")?.tally;
      if (sign.verdict !== "outside" || sign.side !== "high" || tally === undefined) return sign;
      const spread = tally.quantile(0.75) - tally.quantile(0.25);
      if (context.profile.throttled.value === true || spread > governedSpread * tally.quantile(0.5))
        return sign;
      return { ...sign, verdict: "near", note: governed };
    });
  }

  #sign(
    id: SignId,
    channel: Channel,
    range: HeldRange,
    how: { what: string; unit: string; uncertainty: number; per?: number },
  ): Sign[] {
    const evidence = this.#idle.get(channel);
    if (evidence === undefined || evidence.n === 0) {
      if (!this.#cold.has(channel)) return [];
      return [makeSign(id, { verdict: "cannot-tell", channels: [channel], range, note: coldIdle })];
    }
    if (evidence.n < leastReadings || evidence.seconds < leastSeconds)
      return [makeSign(id, { verdict: "cannot-tell", channels: [channel], range })];
    const value = evidence.tally.quantile(0.5) / (how.per ?? 1);
    return [
      makeSign(id, {
        ...judge(value, range, how.uncertainty),
        windows: evidence.windows,
        channels: [channel, "load"],
        range: how.per === undefined ? range : { ...range, replaced: true },
        measured: evidence.measured(how.what, how.unit, value),
      }),
    ];
  }

  #still(keyOn: KeyOn): Sign[] {
    const off = keyOn.value("manifold");
    const pulled = this.#pulled;
    if (off === null || pulled.n < 3) return [];
    const fall = off.value - pulled.tally.quantile(0.5);
    return [
      makeSign("sensor.manifold-still", {
        verdict: Math.abs(fall) < 3 && off.samples >= 2 ? "outside" : fall < 15 ? "near" : "within",
        windows: pulled.windows,
        channels: ["manifold", "engine-speed"],
        measured: pulled.measured("fall of manifold pressure from engine off to idle", "kPa", fall),
      }),
    ];
  }
}
