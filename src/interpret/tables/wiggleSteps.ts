/**
 * By how much a reading must leave its level to count as a step while a harness is moved: what neither the engine nor the weather
 * does between two readings. In the channel's own unit; estimates, common practice. Channels that swing by themselves (trims,
 * oxygen sensors, engine speed) are watched for answers and zeros alone. What a starter moves by itself counts while it runs only.
 */
interface StepRow {
  readonly least: number;
  /** Cranking and starting move it: only an engine that has run for a while counts. */
  readonly running?: true;
}

export const wiggleSteps: Readonly<Record<string, StepRow>> = {
  "module-voltage": { least: 0.8, running: true },
  "socket-voltage": { least: 0.8, running: true },
  manifold: { least: 8, running: true },
  "fuel-rail-pressure": { least: 500, running: true },
  throttle: { least: 5 },
  "pedal-d": { least: 5 },
  "pedal-e": { least: 5 },
  barometric: { least: 3 },
  coolant: { least: 8 },
  "intake-air": { least: 8 },
  ambient: { least: 8 },
};
