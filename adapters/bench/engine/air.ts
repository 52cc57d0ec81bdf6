/** Gas through holes and into cylinders. Pressures in Pa, temperatures in K, areas in m² (discharge taken off). */

/** Specific gas constant of dry air, J/(kg·K). */
export const gasConstant = 287.05;

const gamma = 1.4;
const psiSteps = 1024;

/**
 * Flow function of a compressible orifice, over the ratio of downstream to upstream pressure. Flow is
 * area * p0 / sqrt(R * T0) * psi(pr); choked below 0.528. Source: Heywood, Internal Combustion Engine
 * Fundamentals, appendix C.
 */
const psiTable = Float64Array.from({ length: psiSteps + 2 }, (_, i) => {
  const pr = Math.min(1, Math.max(0.528, i / psiSteps));
  const f = pr ** (2 / gamma) - pr ** ((gamma + 1) / gamma);
  return Math.sqrt(((2 * gamma) / (gamma - 1)) * Math.max(0, f));
});

export function psi(ratio: number): number {
  if (ratio >= 1) return 0;
  const x = Math.max(0, ratio) * psiSteps;
  const i = x | 0;
  const a = psiTable[i] ?? 0;
  return a + ((psiTable[i + 1] ?? 0) - a) * (x - i);
}

/**
 * Pressure of the standard atmosphere at a height in metres, Pa. Source: International Standard Atmosphere,
 * the barometric formula with a lapse rate.
 */
export function pressureAt(heightM: number): number {
  return 101_325 * (1 - 2.25577e-5 * heightM) ** 5.25588;
}

/**
 * Share of the swept volume that fills with fresh gas at manifold density: a wave and flow part that depends
 * on speed, and the residual gas that expands before fresh gas can enter. Source: Guzzella and Onder,
 * Introduction to Modeling and Control of Internal Combustion Engine Systems, section 2.3 (from memory).
 */
export function fillShare(rpm: number, manifold: number, exhaust: number, compression: number): number {
  const k = compression / (compression - 1);
  const residual = (exhaust / Math.max(manifold, 8_000)) ** (1 / 1.35) / (compression - 1);
  return Math.max(0.05, speedFill(rpm) * (k - residual));
}

/** 0.78 at low speed, 0.9 near 3500 rpm, falling above: the shape of a small two-valve petrol engine. */
function speedFill(rpm: number): number {
  const x = (rpm - 3600) / 3600;
  return 0.9 - 0.13 * x * x;
}

/**
 * Share of burnt gas in the charge: what stays in the clearance volume at exhaust pressure and about 1000 K against
 * the fresh gas at about 320 K (ideal gas; Heywood 6.4 gives the same estimate).
 */
export function residualShare(fill: number, manifold: number, exhaust: number, compression: number): number {
  const left = exhaust / (compression - 1) / 1000;
  return left / (left + (fill * manifold) / 320);
}
