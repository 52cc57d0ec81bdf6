/**
 * Whether a charge burns and how much work it gives. Shares of the fuel's energy after Heywood chapters 9 and 15;
 * limits of mixture and dilution are common practice for a port-injected petrol engine.
 */
import type { BenchVehicle } from "../vehicles.ts";

export interface Charge {
  /** Air over what the fuel needs. */
  lambda: number;
  /** Fresh air over a cylinderful at 1.18 g/L. */
  filled: number;
  /** Share of the charge still there at the end of compression. */
  held: number;
  /** Share of burnt gas from the cycle before. */
  residual: number;
  /** Spark energy share, wetness of the plug, degrees before dead centre. */
  spark: number;
  wet: number;
  advance: number;
  rpm: number;
  coolantC: number;
  wallC: number;
  intakeC: number;
  staleness: number;
  /** Glow plugs on, 0 to 1. */
  glow: number;
}

export const energyOf = { petrol: 43e6, diesel: 42.6e6 } as const;
export const airNeed = { petrol: 14.6, diesel: 14.5 } as const;

/** Indicated share of the fuel's energy at its best. */
const best = { petrol: 0.36, diesel: 0.44 } as const;

function rises(x: number, at: number, width: number): number {
  return 1 / (1 + Math.exp((at - x) / width));
}

/** Chance from 0 to 1 that the charge lights and burns. */
export function burnChance(c: Charge, vehicle: BenchVehicle): number {
  if (vehicle.fuel === "diesel") return dieselChance(c, vehicle.compression);
  const lean = 1 - rises(c.lambda, 1.55 - 0.25 * c.staleness, 0.045);
  const rich = rises(c.lambda, 0.45, 0.025);
  const enough = rises(c.filled * c.held, 0.1, 0.012);
  const clean = 1 - rises(c.residual, 0.36, 0.025);
  // A dense or lean charge asks for more energy.
  const asks = 0.14 + 0.42 * Math.min(1.1, c.filled) + 0.7 * Math.max(0, c.lambda - 1.05) + 0.9 * c.wet;
  return lean * rich * enough * clean * rises(c.spark, asks, 0.035);
}

/** A diesel lights by the heat of compression: what leaks away or starts cold is missing at the end. */
function dieselChance(c: Charge, compression: number): number {
  const start = 273.15 + 0.6 * c.intakeC + 0.4 * c.wallC;
  const ended = start * (compression ** 1.28 * c.held) ** (0.28 / 1.28) + 100 * c.glow;
  return rises(ended, 595, 8) * rises(c.lambda, 0.75, 0.04) * (c.lambda > 40 ? 0 : 1);
}

/** Share of the fuel's energy that becomes work on the piston; `spread` is a normal deviate. */
export function burnShare(c: Charge, spread: number, vehicle: BenchVehicle): number {
  const cold = 1 - 0.0016 * Math.max(0, 80 - c.coolantC);
  const slow = 1 - 0.12 * Math.exp(-c.rpm / 900);
  if (vehicle.fuel === "diesel") {
    const smoky = Math.min(1, c.lambda / 1.1);
    return best.diesel * smoky * cold * slow * (1 + 0.015 * spread) * c.held ** 0.3;
  }
  // Best timing moves with speed and dilution; losing it costs with the square (common practice).
  const right = 16 + 5e-3 * Math.min(c.rpm, 3500) + 16 * (1 - Math.min(1, c.filled));
  const off = Math.min(55, Math.abs(right - c.advance));
  const timing = Math.max(0.15, 1 - 2.6e-4 * off * off);
  const mixture = c.lambda < 1 ? c.lambda : 1 - 0.25 * Math.max(0, c.lambda - 1.1);
  const diluted = 1 - 0.8 * Math.max(0, c.residual - 0.2);
  const uneven =
    0.014 +
    0.02 * Math.max(0, 0.45 - c.filled) +
    0.1 * Math.max(0, c.lambda - 1.1) +
    0.15 * Math.max(0, c.residual - 0.2);
  const stale = 1 - 0.08 * c.staleness;
  return best.petrol * timing * mixture * diluted * cold * slow * stale * (1 + uneven * spread) * c.held;
}
