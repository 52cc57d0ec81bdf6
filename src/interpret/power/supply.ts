/** Supply voltage beside the starter: charging, and socket against module. */
import { socketVoltage } from "../../../shared/decode.ts";
import { supplyScale } from "../../../shared/supply.ts";
import type { Context } from "../folds/context.ts";
import { FigureReadings, round } from "../folds/figureReadings.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { HeldRange } from "../report/ranges.ts";
import type { Sign } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";

const moduleVoltage = "module-voltage";
/** After a start the battery takes what the alternator gives, milliseconds. */
const afterStartMs = 30_000;
const leastReadings = 10;
const leastSeconds = 20;
/** Readings of both voltages this close together are compared, milliseconds. */
const togetherMs = 1500;
/** Under a starter the voltage moves fast. */
const togetherCrankingMs = 250;
const settleCrankingMs = 500;

export class SupplyTopic implements Topic {
  readonly #charging = new Map([moduleVoltage, socketVoltage].map((c) => [c, new FigureReadings()]));
  readonly #rest = new Map([moduleVoltage, socketVoltage].map((c) => [c, new FigureReadings()]));
  readonly #drop = new Map(["engine off", "running", "cranking"].map((c) => [c, new FigureReadings()]));
  readonly #burst = new Map([moduleVoltage, socketVoltage].map((c) => [c, new Burst()]));
  #runningSince: number | null = null;

  take(instant: Instant): void {
    const { t, regime, running } = instant;
    if (!running) this.#runningSince = null;
    else this.#runningSince ??= instant.since;
    let any = false;
    for (const { channel, value: volts } of instant.readings) {
      if (!isVolts(channel) || Number.isNaN(volts)) continue;
      any = true;
      if (this.#runningSince !== null && t - this.#runningSince >= afterStartMs)
        this.#charging.get(channel)?.add(t, volts);
      if (this.#runningSince !== null) this.#burst.get(channel)?.take(t, volts);
      if (regime === "key-on") this.#rest.get(channel)?.add(t, volts);
    }
    if (!any || regime === "run-up" || regime === "stall") return;
    const off = regime === "key-on" || regime === "shut-off";
    const when = running ? "running" : off ? "engine off" : "cranking";
    // The inrush of the starter is over before the two voltages can be compared.
    if (when === "cranking" && t - instant.since < settleCrankingMs) return;
    const within = when === "cranking" ? togetherCrankingMs : togetherMs;
    const module = instant.latest(moduleVoltage, within);
    const socket = instant.latest(socketVoltage, within);
    if (module === undefined || socket === undefined) return;
    this.#drop.get(when)?.add(t, round(socket - module, 2));
  }

  signs(context: Context): Sign[] {
    return [...this.#chargingSign(context), ...this.#dropSigns(context), ...this.#restSign(context)];
  }

  #chargingSign(context: Context): Sign[] {
    const [module, socket] = [this.#charging.get(moduleVoltage), this.#charging.get(socketVoltage)];
    const best = (module?.n ?? 0) >= leastReadings ? module : socket;
    if (best === undefined || (best.n === 0 && this.#runningSince === null)) return [];
    const range = context.ranges.figure("charging-voltage");
    if (best.n < leastReadings || best.seconds < leastSeconds) {
      const early = this.#burstSign(context, this.#scale(context, 0));
      return [early ?? makeSign("power.charging", { verdict: "cannot-tell", range })];
    }
    const value = best.tally.quantile(0.5);
    const channel = best === module ? moduleVoltage : socketVoltage;
    const scale = range.replaced ? 1 : this.#scale(context, value);
    const burst = this.#burstSign(context, scale);
    if (burst !== null) return [burst];
    return [
      makeSign("power.charging", {
        ...judge(value / scale, range, channel === moduleVoltage ? 0.1 : 0.25),
        windows: best.windows,
        channels: [channel],
        range: scale === 1 ? range : doubled(range),
        measured: best.measured("median volts while running, from half a minute after the start", "V", value),
      }),
    ];
  }

  /**
   * A 12 V battery that is charged with 18.6 V is no 24 V system: the volts before the engine ran decide, where they are
   * known.
   */
  #scale(context: Context, running: number): number {
    const rest = [moduleVoltage, socketVoltage].map((c) => this.#rest.get(c)).find((e) => (e?.n ?? 0) > 0);
    const before = context.cranks.find((c) => c.restVolts !== null)?.restVolts?.value;
    return supplyScale(before ?? rest?.tally.quantile(0.5) ?? running);
  }

  /** Too much for some seconds, whatever the median says. */
  #burstSign(context: Context, scale: number): Sign | null {
    const range = context.ranges.figure("charging-burst");
    const limit = (range.high ?? 0) * (range.replaced ? 1 : scale);
    for (const [channel, burst] of this.#burst) {
      const found = burst.above(limit);
      if (found === null) continue;
      return makeSign("power.charging", {
        verdict: "outside",
        side: "high",
        windows: [{ from: found.from, to: found.to }],
        channels: [channel],
        range: scale === 1 ? range : doubled(range),
        measured: {
          value: round(found.least, 2),
          unit: "V",
          what: `held or exceeded for ${round((found.to - found.from) / 1000, 1)} s while running`,
          samples: found.n,
          rate: null,
        },
      });
    }
    return null;
  }

  #dropSigns(context: Context): Sign[] {
    const range = context.ranges.figure("feed-drop");
    const signs: Sign[] = [];
    for (const [when, drop] of this.#drop) {
      const least = when === "cranking" ? 8 : 3;
      if (drop.n < least) continue;
      const value = drop.tally.quantile(0.5);
      signs.push(
        makeSign("power.feed-drop", {
          ...judge(value, range, when === "cranking" ? 0.3 : 0.15),
          of: when,
          windows: drop.windows,
          channels: [socketVoltage, moduleVoltage],
          range,
          measured: drop.measured(`median of socket less module, ${when}`, "V", value),
        }),
      );
    }
    return signs;
  }

  /** Rest voltage where there was no crank to measure it before. */
  #restSign(context: Context): Sign[] {
    if (context.cranks.length > 0) return [];
    const [module, socket] = [this.#rest.get(moduleVoltage), this.#rest.get(socketVoltage)];
    const best = (module?.n ?? 0) > 0 ? module : socket;
    if (best === undefined || best.n < 3) return [];
    const range = context.ranges.figure("rest-voltage");
    const value = best.tally.quantile(0.5);
    const scale = range.replaced ? 1 : supplyScale(value);
    return [
      makeSign("power.rest-voltage", {
        ...judge(value / scale, range, 0.1),
        windows: best.windows,
        channels: [best === module ? moduleVoltage : socketVoltage],
        range: scale === 1 ? range : doubled(range),
        measured: best.measured("median volts, key on, engine off", "V", value),
      }),
    ];
  }
}

/** A burst lasts at least so long, with so many readings. */
const burstMs = 5000;
const burstReadings = 3;

interface Above {
  readonly from: number;
  readonly to: number;
  readonly n: number;
  /** The lowest volts in it. */
  readonly least: number;
}

/** Volts of the running engine, in stretches of five seconds: the stretch whose lowest reading is the highest. */
class Burst {
  #held: { t: number; volts: number }[] = [];
  #best: Above | null = null;

  take(t: number, volts: number): void {
    // A break in the readings ends what was held.
    if (t - (this.#held.at(-1)?.t ?? t) > burstMs) this.#held = [];
    this.#held.push({ t, volts });
    while (t - (this.#held[1]?.t ?? t) >= burstMs) this.#held.shift();
    const from = this.#held[0]?.t ?? t;
    if (t - from < burstMs || this.#held.length < burstReadings) return;
    const least = Math.min(...this.#held.map((h) => h.volts));
    if (least > (this.#best?.least ?? Number.NEGATIVE_INFINITY))
      this.#best = { from, to: t, n: this.#held.length, least };
  }

  above(limit: number): Above | null {
    return this.#best !== null && this.#best.least > limit ? this.#best : null;
  }
}

function isVolts(channel: string): boolean {
  return channel === moduleVoltage || channel === socketVoltage;
}

function doubled(range: HeldRange): HeldRange {
  return {
    ...range,
    low: range.low === null ? null : range.low * 2,
    high: range.high === null ? null : range.high * 2,
  };
}
