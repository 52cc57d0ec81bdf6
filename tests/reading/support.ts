import type { Header, RecordingEvent } from "../../shared/recording/format.ts";

export const header: Header = {
  format: "crankside-recording",
  version: 1,
  started: "2026-01-05T08:00:00.000+01:00",
  from: "serial:/dev/ttyUSB0",
  adapter: null,
  protocol: null,
  vehicle: { cylinders: 4 },
  invented: true,
  writer: "test",
};

/** An exchange that was answered after ten milliseconds. */
export const asked = (t: number, ask: string, ...lines: string[]): RecordingEvent => ({
  k: "x",
  t,
  ask,
  lines,
  first: 10,
  end: 12,
});
