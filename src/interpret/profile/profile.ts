/**
 * What kind of vehicle this is: each line told by the person, told by the module, seen in the readings, or unknown, with
 * the reason. Pure: the facts that hold, what the modules said, and what was seen go in.
 */
import { enumWord } from "../../../shared/enumerations.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import { vinSays } from "../../../shared/vin.ts";
import type { Source } from "../folds/source.ts";
import type { ProfileSeen } from "./profileSeen.ts";
import type { ProfileEntry } from "../report/schema.ts";
import { ownSeries } from "../folds/windows.ts";

export type KnownFrom = ProfileEntry["from"];

/** One line of the profile; `value` is null where it is unknown. */
export interface Line<T> {
  readonly value: T | null;
  readonly from: KnownFrom;
  readonly sure: ProfileEntry["sure"];
  /** The reason, in words; of what is unknown: what would decide it. */
  readonly why: string;
  /** What speaks against it. */
  readonly against?: string;
}

export interface VehicleProfile {
  readonly fuel: Line<NonNullable<VehicleFacts["fuel"]>>;
  readonly induction: Line<NonNullable<VehicleFacts["induction"]>>;
  readonly metering: Line<NonNullable<VehicleFacts["metering"]>>;
  readonly throttled: Line<boolean>;
  readonly stops: Line<boolean>;
  readonly supply: Line<12 | 24>;
  readonly hybrid: Line<boolean>;
  /** What the places of the VIN say that a standard gives a meaning. */
  readonly vin: Line<string>;
}

/** Codes of parameter 51. */
const dieselCodes: ReadonlySet<number> = new Set([4, 19, 23]);
const hybridCodes = { from: 17, to: 22 } as const;
/** Electric (8), and what burns two fuels or none that is named: no rule of either kind. */
const neitherCodes: ReadonlySet<number> = new Set([0, 8, 20, 21, 22]);
/** Trims, ignition advance: what only an engine with spark has. */
const sparkParameters = [0x06, 0x07, 0x0e] as const;
const sparkChannels = ["trim-short-b1", "trim-long-b1", "advance"] as const;
/** Rules of parameter 1C for heavy vehicles: HD OBD-C, HD OBD, WWH OBD, HD Euro (SAE J1979, from memory). */
const heavyRules: ReadonlySet<number> = new Set([19, 20, 21, 23, 24, 25, 26]);

type Found<T> = Line<T> | null;

function told<T>(value: T | undefined): Found<T> {
  return value === undefined ? null : { value, from: "told", sure: "sure", why: "as a person said" };
}

function unknown<T>(decides: string): Line<T> {
  return { value: null, from: "unknown", sure: null, why: `Needs ${decides}.` };
}

/** The first that is known; one behind it that says something else is named beside it. */
function first<T>(lines: readonly Found<T>[], otherwise: Line<T>): Line<T> {
  const known = lines.filter((l) => l !== null);
  const best = known[0];
  if (best === undefined) return otherwise;
  const against = known.find((l) => l.value !== best.value);
  return against === undefined ? best : { ...best, against: against.why };
}

/** The fuel as a person or the module tells it, or null: what is known before the readings are looked at. */
export function fuelOf(facts: VehicleFacts, source: Source): VehicleFacts["fuel"] | null {
  return facts.fuel ?? fuelByModule(source)?.value ?? null;
}

export function profileOf(facts: VehicleFacts, source: Source, seen: ProfileSeen): VehicleProfile {
  const fuel = first(
    [told(facts.fuel), fuelByModule(source), fuelByReadings(seen)],
    unknown<NonNullable<VehicleFacts["fuel"]>>(
      "the fuel in the vehicle's facts, parameter 51, or a minute of idle with manifold pressure",
    ),
  );
  return {
    fuel,
    induction: first(
      [told(facts.induction), inductionSeen(seen)],
      unknown("induction in the vehicle's facts, or a strong pull with manifold pressure asked"),
    ),
    metering: first(
      [told(facts.metering), meteringByModule(source)],
      unknown("the metering in the vehicle's facts, or air flow and manifold pressure asked"),
    ),
    throttled: throttledOf(facts, fuel, seen),
    stops: first(
      [told(facts.stopsAtStandstill), stopsSeen(seen)],
      unknown("a word in the vehicle's facts, or such a stop in the recording"),
    ),
    supply: first(
      [told(facts.supplyVolts), supplySeen(seen), supplyByModule(source, seen)],
      unknown("a reading of the voltage at rest"),
    ),
    hybrid: first(
      [told(facts.hybrid), hybridByModule(source), hybridSeen(seen)],
      unknown("a word in the vehicle's facts, parameter 51 or 5B"),
    ),
    vin: vinOf(facts),
  };
}

function vinOf({ vin = "" }: VehicleFacts): Line<string> {
  const says = vinSays(vin);
  if (says === null) return unknown("the VIN in the vehicle's facts");
  return { value: says, from: "told", sure: "sure", why: "by the places that a standard gives a meaning" };
}

function fuelByModule(source: Source): Found<NonNullable<VehicleFacts["fuel"]>> {
  const line = (diesel: boolean, why: string, sure: "sure" | "likely" = "sure") =>
    ({ value: diesel ? "diesel" : "petrol", from: "module", sure, why }) as const;
  const code = last(source, "fuel-type");
  if (code !== null && !neitherCodes.has(code))
    return line(dieselCodes.has(code), `fuel type (parameter 51): ${enumWord("fuelType", code)}`);
  const status = last(source, "monitors");
  if (status !== null) {
    const compression = (Math.floor(status / 0x80000) & 1) === 1;
    return line(
      compression,
      `the monitors (parameter 01) are those of ${compression ? "compression" : "spark"} ignition`,
    );
  }
  const trims = sparkChannels.find((c) => last(source, c) !== null);
  if (trims !== undefined)
    return line(false, "fuel trims or ignition advance were read: an engine with spark");
  const announced = [...source.modules.values()].filter((pids) => pids.has(0x0c));
  if (announced.length === 0) return null;
  if (announced.some((pids) => sparkParameters.some((p) => pids.has(p))))
    return line(false, "the module has fuel trims or ignition advance");
  return line(true, "the module has neither fuel trims nor ignition advance", "likely");
}

function fuelByReadings(seen: ProfileSeen): Found<NonNullable<VehicleFacts["fuel"]>> {
  const { unthrottled, throttledIdle } = seen;
  if (unthrottled)
    return {
      value: "diesel",
      from: "seen",
      sure: "likely",
      why: "the manifold stays near the outside air at idle: nothing throttles it",
    };
  if (throttledIdle)
    return {
      value: "petrol",
      from: "seen",
      sure: "likely",
      why: "the manifold is pulled far down at idle: a plate throttles it",
    };
  return null;
}

function throttledOf(facts: VehicleFacts, fuel: VehicleProfile["fuel"], seen: ProfileSeen): Line<boolean> {
  const { unthrottled, throttledIdle } = seen;
  const see = (value: boolean): Line<boolean> => ({
    value,
    from: "seen",
    sure: "sure",
    why: value ? "the manifold is pulled down at idle" : "the manifold stays near the outside air at idle",
  });
  const byFuel: Found<boolean> =
    fuel.value === null || fuel.value === "other" || fuel.from === "seen"
      ? null
      : {
          value: fuel.value !== "diesel",
          from: fuel.from,
          sure: "likely",
          why:
            fuel.value === "diesel"
              ? "a diesel's plate stands open"
              : "an engine with spark is throttled by its plate (a few are by their valves)",
        };
  // A hose that is off reads outside air on an engine with spark too: what is known of the fuel goes first.
  return first(
    [told(facts.throttled), byFuel, unthrottled ? see(false) : throttledIdle ? see(true) : null],
    unknown("the fuel in the vehicle's facts, or a minute of idle with manifold pressure"),
  );
}

function inductionSeen({ aboveOutside, fullLoad }: ProfileSeen): Found<"natural" | "charged"> {
  if (aboveOutside !== null)
    return {
      value: "charged",
      from: "seen",
      sure: "sure",
      why: `the manifold was up to ${aboveOutside.toFixed(0)} kPa above the outside air`,
    };
  if (fullLoad)
    return {
      value: "natural",
      from: "seen",
      sure: "likely",
      why: "at full load the manifold did not rise above the outside air",
    };
  return null;
}

function meteringByModule(source: Source): Found<"air-flow" | "manifold-pressure"> {
  const has = (channel: string, pid: number): boolean =>
    last(source, channel) !== null || [...source.modules.values()].some((pids) => pids.has(pid));
  if (has("air-flow", 0x10))
    return { value: "air-flow", from: "module", sure: "sure", why: "the module has an air-flow reading" };
  if (has("manifold", 0x0b))
    return {
      value: "manifold-pressure",
      from: "module",
      sure: "likely",
      why: "the module has manifold pressure and no air flow, as far as was asked",
    };
  return null;
}

function stopsSeen({ shutOffs, restarts }: ProfileSeen): Found<boolean> {
  if (shutOffs === 0 || restarts === 0) return null;
  return {
    value: true,
    from: "seen",
    sure: restarts >= 2 ? "sure" : "likely",
    why: `shut off at standstill ${times(shutOffs)} and started again ${times(restarts)} in this recording`,
  };
}

function supplySeen({ restVolts }: ProfileSeen): Found<12 | 24> {
  if (restVolts === null) return null;
  const value = restVolts.nominal;
  return { value, from: "seen", sure: "sure", why: `the supply reads ${restVolts.volts.toFixed(1)} V` };
}

function supplyByModule(source: Source, seen: ProfileSeen): Found<12 | 24> {
  const rule = last(source, "obd-rule");
  if (seen.restVolts !== null || rule === null || !heavyRules.has(rule)) return null;
  return {
    value: 24,
    from: "module",
    sure: "likely",
    why: "built to a rule for heavy vehicles (parameter 1C)",
  };
}

function hybridByModule(source: Source): Found<boolean> {
  const code = last(source, "fuel-type");
  const sure = "sure" as const;
  if (code !== null && code >= hybridCodes.from && code <= hybridCodes.to)
    return {
      value: true,
      from: "module",
      sure,
      why: `fuel type (parameter 51): ${enumWord("fuelType", code)}`,
    };
  if (last(source, "hybrid-battery") !== null)
    return { value: true, from: "module", sure, why: "it tells of a hybrid battery (parameter 5B)" };
  if (code !== null && code > 0)
    return {
      value: false,
      from: "module",
      sure,
      why: `fuel type (parameter 51): ${enumWord("fuelType", code)}`,
    };
  return null;
}

function hybridSeen({ movedWithoutEngine }: ProfileSeen): Found<boolean> {
  if (movedWithoutEngine < 10) return null;
  return {
    value: true,
    from: "seen",
    sure: "likely",
    why: `it drove with the engine standing still in ${movedWithoutEngine} readings`,
  };
}

function last(source: Source, channel: string): number | null {
  return ownSeries(source.channels, channel)?.values.findLast((v) => !Number.isNaN(v)) ?? null;
}

function times(n: number): string {
  return n === 1 ? "once" : n === 2 ? "twice" : `${n} times`;
}

const names = {
  fuel: "Fuel",
  induction: "Induction",
  metering: "Air is measured by",
  throttled: "Throttle plate controls the air",
  stops: "Stop-start",
  supply: "Supply",
  hybrid: "Hybrid",
  vin: "VIN",
} as const satisfies Record<keyof VehicleProfile, string>;

const words: Readonly<Record<string, string>> = {
  "air-flow": "an air-flow meter",
  "manifold-pressure": "manifold pressure",
  true: "yes",
  false: "no",
  "12": "12 V",
  "24": "24 V",
};

/** The lines as findings hold them, in a fixed order. */
export function profileEntries(profile: VehicleProfile): ProfileEntry[] {
  return (Object.keys(names) as (keyof VehicleProfile)[]).flatMap((of) => {
    const { value, from, sure, why, against }: Line<string | number | boolean> = profile[of];
    // It decides nothing: where it says nothing it has no line.
    if (of === "vin" && value === null) return [];
    return {
      of,
      name: names[of],
      value: value === null ? null : (words[String(value)] ?? String(value)),
      from,
      sure,
      why,
      ...(against === undefined ? {} : { against }),
    };
  });
}
