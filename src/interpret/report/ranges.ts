import { channelInfo } from "../../../shared/decode.ts";
import {
  figures,
  rangeFor,
  regimeGroup,
  type Figure,
  type FigureRange,
  type Range,
  type Regime,
} from "../../../shared/ranges.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { ProfileEntry, SignRange } from "./schema.ts";

/** A range as it holds for one vehicle; `margin` is what counts as near the edge. */
export interface HeldRange extends SignRange {
  readonly margin: number;
}

/** Air pressure at a height by the international standard atmosphere, kPa; height in metres. */
export function standardPressure(heightM: number): number {
  return 101.325 * (1 - 2.25577e-5 * heightM) ** 5.25588;
}

/** Least volts under a starter by temperature, °C: the load-test table (service manual, 2004). */
const loadTest = [
  [-18, 8.5],
  [-12, 8.7],
  [-7, 8.9],
  [-1, 9.1],
  [4, 9.3],
  [10, 9.4],
  [18, 9.5],
  [20, 9.6],
] as const;

export function leastCrankVolts(celsius: number): number {
  let below: readonly [number, number] = loadTest[0];
  for (const row of loadTest) {
    if (celsius < row[0]) {
      const share = Math.max(0, (celsius - below[0]) / (row[0] - below[0] || 1));
      return below[1] + share * (row[1] - below[1]);
    }
    below = row;
  }
  return below[1];
}

export interface Replaced {
  readonly of: string;
  readonly words: string;
}

/** What is known of a vehicle, as far as ranges depend on it; null: unknown. */
export interface KnownKind {
  readonly fuel: VehicleFacts["fuel"] | null;
  readonly throttled: boolean | null;
  readonly supply: 12 | 24 | null;
}

const fuels = ["petrol", "diesel", "ethanol", "gas", "other"] as const;

/** As far as a person told it. */
function toldKind({ fuel, throttled, supplyVolts }: VehicleFacts): KnownKind {
  const byFuel = fuel === undefined || fuel === "other" ? null : fuel !== "diesel";
  return { fuel: fuel ?? null, throttled: throttled ?? byFuel, supply: supplyVolts ?? null };
}

/** As the findings have it: told, told by the module, or seen in the readings. */
export function knownKind(profile: readonly ProfileEntry[] | undefined): KnownKind | undefined {
  if (profile === undefined) return undefined;
  const value = (of: ProfileEntry["of"]): string | null => profile.find((p) => p.of === of)?.value ?? null;
  const [throttled, supply] = [value("throttled"), value("supply")];
  return {
    fuel: fuels.find((fuel) => fuel === value("fuel")) ?? null,
    throttled: throttled === null ? null : throttled === "yes",
    supply: supply === null ? null : supply === "24 V" ? 24 : 12,
  };
}

/** The same as text, and back: equal where it says the same. */
export function kindText(profile: readonly ProfileEntry[] | undefined): string {
  return JSON.stringify(knownKind(profile) ?? null);
}

export function kindIn(text: string): KnownKind | undefined {
  return (JSON.parse(text) as KnownKind | null) ?? undefined;
}

/** The ranges of one vehicle: the general table, with what its facts say put in place. */
export class VehicleRanges {
  readonly #facts: VehicleFacts;
  readonly #kind: KnownKind;
  readonly #byFigure = new Map<string, FigureRange>(figures.map((f) => [f.of, f]));

  /** `kind`: what else is known of it; what a person told goes first. */
  constructor(facts: VehicleFacts, kind?: KnownKind) {
    this.#facts = facts;
    const { fuel, throttled, supply } = toldKind(facts);
    this.#kind = {
      fuel: fuel ?? kind?.fuel ?? null,
      throttled: throttled ?? kind?.throttled ?? null,
      supply: supply ?? kind?.supply ?? null,
    };
  }

  /** Told by a person, else by the module or the readings; null: unknown. */
  get fuel(): KnownKind["fuel"] {
    return this.#kind.fuel;
  }

  get facts(): VehicleFacts {
    return this.#facts;
  }

  figure(of: Figure): HeldRange {
    const row = this.#byFigure.get(of);
    if (row === undefined) throw new RangeError(`no range of ${of}`);
    const own = this.#facts.ranges?.find((r) => r.of === of);
    if (own !== undefined) return held({ ...row, low: own.low, high: own.high, source: own.source }, true);
    if (of === "idle-speed" && this.#facts.idleRpm !== undefined) {
      const idle = this.#facts.idleRpm;
      return held(
        { ...row, low: idle - 100, high: idle + 100, source: "idle speed of this vehicle, ±100" },
        true,
      );
    }
    return held(row, false);
  }

  /**
   * The band of a channel in a regime, with the vehicle's own in place of the general one. Null where there is none, and
   * where it holds for some kinds of vehicle and this one's is not known.
   */
  channel(channel: string, regime: Regime): SignRange | null {
    const unit = channelInfo(channel)?.unit ?? "";
    const own = this.#facts.ranges?.filter((r) => r.of === channel) ?? [];
    const group = regimeGroup[regime];
    const mine =
      own.find((r) => r.regime === regime) ??
      own.find((r) => r.regime !== undefined && r.regime === group) ??
      own.find((r) => r.regime === undefined);
    if (mine !== undefined)
      return { low: mine.low, high: mine.high, unit, source: mine.source, replaced: true };
    const row = this.#adapted(this.#ofKind(rangeFor(channel, regime)), regime);
    return row === undefined ? null : { ...row, unit };
  }

  #ofKind(row: Range | undefined): Range | undefined {
    if (row === undefined) return undefined;
    const { fuel, throttled, supply } = this.#kind;
    switch (row.kind) {
      case "any":
        return row;
      case "throttled":
        return throttled === true ? row : undefined;
      case "12 V":
        return supply === null ? undefined : scaled(row, supply / 12);
      case "spark":
        if (row.channel === "engine-speed" && fuel === "diesel") return this.#dieselCrank(row);
        return fuel === null || fuel === "diesel" || fuel === "other" ? undefined : row;
    }
  }

  #dieselCrank(row: Range): Range | undefined {
    const { low, high, source } = this.figure("crank-speed-diesel");
    return low === null || high === null ? undefined : { ...row, low, high, source };
  }

  #adapted(row: Range | undefined, regime: Regime): Omit<SignRange, "unit"> | undefined {
    if (row === undefined) return undefined;
    const { idleRpm, altitudeM } = this.#facts;
    if (row.channel === "engine-speed" && row.regime === "idle" && idleRpm !== undefined)
      return {
        low: idleRpm - 100,
        high: idleRpm + 100,
        source: "idle speed of this vehicle, ±100",
        replaced: true,
      };
    const outside = row.channel === "barometric" || (row.channel === "manifold" && regime === "key-on");
    if (outside && altitudeM !== undefined) {
      const air = standardPressure(altitudeM);
      return { low: air - 5, high: air + 5, source: `ISA at ${altitudeM} m, ±5 kPa`, replaced: true };
    }
    return { low: row.low, high: row.high, source: row.source, replaced: false };
  }

  /** What the facts replaced, for whoever reads the findings. */
  get replaced(): Replaced[] {
    const list: Replaced[] = [];
    const { idleRpm, altitudeM, ranges, fuelPressureKPa } = this.#facts;
    if (idleRpm !== undefined) list.push({ of: "idle-speed", words: `idle speed ${idleRpm} rpm, ±100` });
    if (altitudeM !== undefined)
      list.push({
        of: "altitude-pressure",
        words: `outside air ${standardPressure(altitudeM).toFixed(1)} kPa, from ${altitudeM} m`,
      });
    if (fuelPressureKPa !== undefined)
      list.push({
        of: "fuel-pressure",
        words: `fuel pressure ${fuelPressureKPa.low} to ${fuelPressureKPa.high} kPa`,
      });
    for (const r of ranges ?? [])
      list.push({
        of: r.of,
        words: `${r.of}${r.regime === undefined ? "" : ` (${r.regime})`} ${r.low ?? "…"} to ${r.high ?? "…"}, ${r.source}`,
      });
    return list;
  }
}

function scaled(row: Range, by: number): Range {
  return by === 1 ? row : { ...row, low: row.low * by, high: row.high * by };
}

function held(row: FigureRange, replaced: boolean): HeldRange {
  const { low, high, margin, unit, source } = row;
  return { low, high, margin, unit, source, replaced };
}
