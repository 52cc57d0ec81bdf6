import type { VehicleFacts } from "../../shared/vehicle.ts";
import type { Source } from "./context.ts";
import { ownSeries } from "./windows.ts";

/** Codes of parameter 51. */
const dieselCodes: ReadonlySet<number> = new Set([4, 19, 23]);
const hybridCodes = { from: 17, to: 22 } as const;
/** Trims, ignition advance: what only an engine with spark has. */
const sparkParameters = [0x06, 0x07, 0x0e] as const;
const sparkChannels = ["trim-short-b1", "trim-long-b1", "advance"] as const;

/**
 * Diesel or hybrid: as the facts say, or the fuel type (51), the kind of monitors (01), or what the module that knows
 * engine speed does not announce.
 */
export function fuelOf(facts: VehicleFacts, source: Source): { diesel: boolean; hybrid: boolean } {
  const code = last(source, "fuel-type");
  const hybrid = code !== null && code >= hybridCodes.from && code <= hybridCodes.to;
  if (facts.fuel !== undefined) return { diesel: facts.fuel === "diesel", hybrid };
  if (code !== null && code > 0) return { diesel: dieselCodes.has(code), hybrid };
  const status = last(source, "monitors");
  if (status !== null) return { diesel: (Math.floor(status / 0x80000) & 1) === 1, hybrid };
  const announced = [...source.modules.values()].filter((pids) => pids.has(0x0c));
  const none = announced.length > 0 && announced.every((pids) => sparkParameters.every((p) => !pids.has(p)));
  return { diesel: none && sparkChannels.every((c) => last(source, c) === null), hybrid };
}

function last(source: Source, channel: string): number | null {
  const value = ownSeries(source.channels, channel)?.values.findLast((v) => !Number.isNaN(v));
  return value ?? null;
}
