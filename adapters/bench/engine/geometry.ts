/**
 * What a cylinder does over its 720 degrees, as tables by whole degree. 0 is top dead centre with the valves open,
 * 180 the end of intake, 360 the firing dead centre, 540 the end of expansion.
 */
export const cycleDegrees = 720;

/** Crank radius over rod length; 0.28 to 0.33 is usual. */
const rodRatio = 0.3;
/** Polytropic exponent of compression in a cold or warm engine; Heywood gives 1.3 ± 0.05. */
const polytropic = 1.28;

/** Change of swept volume with angle, share of the swept volume per radian. */
const volumeRate = Float64Array.from({ length: cycleDegrees }, (_, i) => {
  const a = (i * Math.PI) / 180;
  return (Math.sin(a) + (rodRatio / 2) * Math.sin(2 * a)) / 2;
});

/** Intake flow over the intake stroke: its shape, with an integral over the stroke (radians) of 1. */
const intakeRate = volumeRate.map((rate, i) => (i < 180 ? Math.max(0, rate) : 0));

/** Pressure over the pressure at the end of intake, while the valves are shut (180 to 540), else 0. */
function compressionTable(compression: number): Float64Array {
  const clearance = 1 / (compression - 1);
  return Float64Array.from({ length: cycleDegrees }, (_, i) => {
    if (i < 180 || i >= 540) return 0;
    const a = (i * Math.PI) / 180;
    const swept = (1 - Math.cos(a) + (rodRatio / 2) * Math.sin(a) ** 2) / 2;
    return ((clearance + 1) / (clearance + swept)) ** polytropic;
  });
}

/** Density over that at the end of intake, while the valves are shut, else 1. */
function densityTable(compression: number): Float64Array {
  return compressionTable(compression).map((squeeze) => (squeeze > 0 ? squeeze ** (1 / polytropic) : 1));
}

/** Torque of burning over the expansion stroke: shape with an integral (radians) of 1, peak 25 degrees after centre. */
const burnShape: Float64Array = (() => {
  const shape = new Float64Array(cycleDegrees);
  let sum = 0;
  for (let i = 360; i < 540; i++) {
    const x = (i - 360 + 0.5) / 25;
    shape[i] = x * Math.exp(-x);
    sum += (shape[i] ?? 0) * (Math.PI / 180);
  }
  return shape.map((v) => v / sum);
})();

export interface CycleTables {
  readonly volumeRate: Float64Array;
  readonly intakeRate: Float64Array;
  readonly burnShape: Float64Array;
  readonly squeezes: Float64Array;
  readonly densities: Float64Array;
}

/** All of them, for an engine that looks into them in every step. */
export function cycleTables(compression: number): CycleTables {
  const [squeezes, densities] = [compressionTable(compression), densityTable(compression)];
  return { volumeRate, intakeRate, burnShape, squeezes, densities };
}
