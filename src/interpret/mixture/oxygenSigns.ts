/** Oxygen and lambda sensors ahead of the catalyst: do they wake, do they swing, do they read what is held? */
import type { Context } from "../folds/context.ts";
import type { FigureReadings } from "../folds/figureReadings.ts";
import type { Mixture, Waking } from "./mixture.ts";
import type { Sign, SignRange } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";

export const oxygenLimits = {
  leastReadings: 20,
  leastSeconds: 20,
  /** Share of the readings at the bias voltage from which on a sensor has not woken. */
  asleep: 0.95,
  /** How long it must have slept, and how much of that away from idle, seconds: an idle may not heat one without a heater. */
  asleepSeconds: 45,
  hotSeconds: 20,
} as const;

/** Counted outside 0.3 and 0.6 V (service manuals, 1998 to 2004). */
const swings = { low: 0.3, high: 0.6 } as const;
/** A sensor that moves by more than lies between the two is not dead: few readings may have missed its peaks. */
const alive = swings.high - swings.low;
/** Inactive: the voltage that the module itself puts on a sensor that gives none (service manual, 1998). */
const bias = { low: 0.391, high: 0.491 } as const;

const swingRange: SignRange = {
  ...swings,
  unit: "V",
  source: "swings beyond 0.3 and 0.6 V (service manuals)",
  replaced: false,
};

export function oxygenSigns(mixture: Mixture): Sign[] {
  return [...new Set([...mixture.sensors.keys(), ...mixture.woken.keys()])].sort().map((channel) => {
    const asleep = asleepSign(channel, mixture.woken.get(channel));
    if (asleep?.verdict === "outside") return asleep;
    const swing = swingSign(channel, mixture.sensors.get(channel), mixture);
    return swing.verdict === "cannot-tell" && asleep !== null ? asleep : swing;
  });
}

function named(channel: string): { of: string; bank: number; channels: string[] } {
  const bank = Number(channel[8]);
  return { of: `b${bank}`, bank, channels: [channel, "fuel-system-1"] };
}

function asleepSign(channel: string, waking: Waking | undefined): Sign | null {
  if (waking === undefined) return null;
  const { evidence, hot } = waking;
  const { tally } = evidence;
  if (evidence.n < oxygenLimits.leastReadings || evidence.seconds < oxygenLimits.asleepSeconds) return null;
  const still = tally.share((v) => v >= bias.low && v <= bias.high);
  if (still < oxygenLimits.asleep) return null;
  const sure = hot.seconds >= oxygenLimits.hotSeconds;
  return makeSign("sensor.oxygen", {
    ...named(channel),
    verdict: sure ? "outside" : "near",
    windows: evidence.windows,
    range: swingRange,
    measured: evidence.measured(
      `median of the sensor, ${(still * 100).toFixed(0)} % of the readings at its resting voltage`,
      "V",
      tally.quantile(0.5),
    ),
    meaning: "Long after the start the sensor still reads its cold voltage: sensor, heater or wire is dead.",
    note: sure ? undefined : "Only idle was seen: that may not heat a sensor without its own heater.",
    looksLike: ["oxygen-dead"],
    excluded: ["pump-weak", "filter-blocked", "pressure-high", "exhaust-leak", "misfire-looks-lean"],
  });
}

function swingSign(channel: string, evidence: FigureReadings | undefined, mixture: Mixture): Sign {
  const parts = { ...named(channel), windows: evidence?.windows ?? [] };
  if (
    evidence === undefined ||
    evidence.n < oxygenLimits.leastReadings ||
    evidence.seconds < oxygenLimits.leastSeconds
  )
    return makeSign("sensor.oxygen", { ...parts, verdict: "cannot-tell", range: swingRange });
  const { tally } = evidence;
  const lean = tally.share((v) => v < swings.low);
  const rich = tally.share((v) => v > swings.high);
  const swing = tally.quantile(0.95) - tally.quantile(0.05);
  const oneSided = lean < 0.02 || rich < 0.02;
  const dead = oneSided && swing < alive;
  // While the correction stands at its limit the sensor may well be right.
  const atLimit = (mixture.banks.find((b) => b.bank === parts.bank)?.clipped ?? 0) >= 3;
  return makeSign("sensor.oxygen", {
    ...parts,
    verdict: dead && !atLimit ? "outside" : oneSided || lean < 0.08 || rich < 0.08 ? "near" : "within",
    ...(dead && atLimit
      ? {
          note: "Fuel trim was at its limit meanwhile: this does not tell mixture from sensor.",
        }
      : {}),
    ...(rich < 0.02 && lean >= 0.5 ? { side: "low" as const } : {}),
    ...(lean < 0.02 && rich >= 0.5 ? { side: "high" as const } : {}),
    range: swingRange,
    measured: evidence.measured(
      `swing of the sensor, ${(lean * 100).toFixed(0)} % lean, ${(rich * 100).toFixed(0)} % rich`,
      "V",
      swing,
    ),
  });
}

export function lambdaSigns(mixture: Mixture, context: Context): Sign[] {
  const range = context.ranges.figure("lambda");
  return [...mixture.lambdas].map(([channel, evidence]) => {
    const bank = Number(/b(\d)s1$/.exec(channel)?.[1] ?? 1);
    const parts = { of: channel, bank, channels: [channel], windows: evidence.windows, range };
    if (evidence.n < 10 || evidence.seconds < oxygenLimits.leastSeconds)
      return makeSign("mixture.lambda", { ...parts, verdict: "cannot-tell" });
    const value = evidence.tally.quantile(0.5);
    return makeSign("mixture.lambda", {
      ...parts,
      ...judge(value, range, 0.01),
      measured: evidence.measured(`median lambda in closed loop, bank ${bank}`, "lambda", value),
    });
  });
}
