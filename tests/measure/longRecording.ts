/** Recordings of any length for measuring: twelve channels at 50 exchanges a second on CAN 11/500, invented. */
import { eventLine, headerLine } from "../../shared/recording/format.ts";

/** Parameter, bytes of data, and a rule for the raw code. Idle with blips of the throttle; trims that wander. */
const parameters: readonly (readonly [pid: string, bytes: 1 | 2, raw: (second: number) => number])[] = [
  ["0C", 2, (s) => 4 * (820 + 900 * blip(s) + 30 * Math.sin(s * 1.7))],
  ["0B", 1, (s) => 34 + 30 * blip(s) + 2 * Math.sin(s * 2.1)],
  ["11", 1, (s) => 33 + 60 * blip(s)],
  ["05", 1, (s) => 130 - 70 * Math.exp(-s / 400)],
  ["0F", 1, (s) => 62 + 3 * Math.sin(s / 300)],
  ["04", 1, (s) => 55 + 40 * blip(s) + 3 * Math.sin(s * 0.9)],
  ["06", 1, (s) => 131 + 5 * Math.sin(s * 3.3)],
  ["07", 1, (s) => 134 + 3 * Math.sin(s / 90)],
  ["0E", 1, (s) => 148 + 12 * blip(s) + 3 * Math.sin(s * 2.9)],
  ["10", 2, (s) => 340 + 900 * blip(s) + 12 * Math.sin(s * 1.3)],
  ["0D", 1, () => 0],
];

export const channels = [
  "engine-speed",
  "manifold",
  "throttle",
  "coolant",
  "intake-air",
  "load",
  "trim-short-b1",
  "trim-long-b1",
  "advance",
  "air-flow",
  "vehicle-speed",
  "socket-voltage",
] as const;

function blip(second: number): number {
  const within = second % 47;
  return within > 40 ? Math.sin(((within - 40) / 7) * Math.PI) : 0;
}

const hex = (value: number, digits: number): string => value.toString(16).toUpperCase().padStart(digits, "0");

function reply(pid: string, bytes: 1 | 2, raw: number): string {
  const most = bytes === 1 ? 0xff : 0xffff;
  const code = hex(Math.min(most, Math.max(0, Math.round(raw))), 2 * bytes);
  const data = bytes === 1 ? code : `${code.slice(0, 2)} ${code.slice(2)}`;
  return `7E8 0${2 + bytes} 41 ${pid} ${data}`;
}

/** The first line of an invented recording. */
export function firstLine(): string {
  return headerLine({
    format: "crankside-recording",
    version: 1,
    started: "2026-01-05T08:00:00Z",
    from: "measure",
    adapter: null,
    protocol: "can11-500",
    vehicle: {},
    invented: true,
    writer: "measure",
  });
}

/** The reading of number `i`, taken at `t` milliseconds; the channels come in turn. `spike`: 6000 rpm, if it is a speed. */
export function readingLine(i: number, t: number, spike = false): string {
  const row = parameters[i % (parameters.length + 1)];
  const took = { first: 11.204 + (i % 7) / 10, end: 12.871 + (i % 7) / 10 };
  if (row === undefined) {
    const volts = (13.9 + 0.1 * Math.sin(t / 9000)).toFixed(1);
    return eventLine({ k: "x", t, ask: "ATRV", lines: [`${volts}V`], ...took });
  }
  const [pid, bytes, raw] = row;
  const value = spike && pid === "0C" ? 4 * 6000 : raw(t / 1000);
  return eventLine({ k: "x", t, ask: `01${pid}1`, lines: [reply(pid, bytes, value)], ...took });
}

/**
 * The lines, some thousands at a time. At `spikeAt` seconds one single reading of engine speed stands at 6000 rpm,
 * so that it can be looked for at every zoom.
 */
export function* longRecording(hours: number, spikeAt = 1234): Generator<string> {
  yield firstLine();
  const kinds = parameters.length + 1;
  let part: string[] = [];
  let spike = false;
  for (let i = 0; i < hours * 180_000; i++) {
    const t = i * 20 + 0.137;
    const here = !spike && t > spikeAt * 1000 && i % kinds === 0;
    if (here) spike = true;
    part.push(readingLine(i, t, here));
    if (part.length === 20_000) {
      yield part.join("");
      part = [];
    }
  }
  yield part.join("");
}
