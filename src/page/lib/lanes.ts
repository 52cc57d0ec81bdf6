import { socketVoltage } from "../../../shared/decode.ts";
import type { Status } from "../../../shared/messages.ts";
import { parameterByPid } from "../../../shared/parameters.ts";

export { laneColours } from "../../sheet/chart/colours.ts";

/** Which channels stand in which lane. A lane holds channels of one unit; most hold one. */
export type LaneSet = readonly (readonly string[])[];

/** The usual lanes, in order; each is there if one of its channels is. */
const usual: LaneSet = [
  ["engine-speed"],
  ["socket-voltage"],
  ["manifold"],
  ["air-flow"],
  ["throttle"],
  ["trim-short-b1", "trim-long-b1"],
  ["trim-short-b2", "trim-long-b2"],
  ["coolant", "intake-air"],
  ["load"],
  ["oxygen-b1s1"],
  ["oxygen-b2s1"],
  ["advance"],
  ["vehicle-speed"],
  ["module-voltage"],
];

/** More than this is not opened unasked: each lane needs its height. */
const mostUsual = 7;

export function usualLanes(channels: readonly string[]): LaneSet {
  const lanes = lanesWithin(usual, channels);
  if (lanes.length > 0) return lanes.slice(0, mostUsual);
  return channels.slice(0, mostUsual).map((channel) => [channel]);
}

/** Channels that can stand in a lane: what was read, and what the modules say they could be asked for. */
export function readableChannels(read: readonly string[], modules: Status["modules"]): string[] {
  const found = new Set([...read, socketVoltage]);
  for (const { pids } of modules)
    for (const pid of pids)
      for (const value of parameterByPid.get(pid)?.values ?? []) found.add(value.channel);
  return [...found].filter((channel) => !channel.startsWith("support-"));
}

export function withChannel(lanes: LaneSet, channel: string): LaneSet {
  return lanes.some((lane) => lane.includes(channel)) ? lanes : [...lanes, [channel]];
}

export function withoutChannel(lanes: LaneSet, channel: string): LaneSet {
  return lanes.map((lane) => lane.filter((c) => c !== channel)).filter((lane) => lane.length > 0);
}

/** The lanes with what is in `channels`; a lane of which nothing is there is left out. */
export function lanesWithin(lanes: LaneSet, channels: readonly string[]): LaneSet {
  const there = new Set(channels);
  return lanes.map((lane) => lane.filter((channel) => there.has(channel))).filter((lane) => lane.length > 0);
}

/** Lanes as one text, equal for equal lanes; channel names hold no blanks. */
export function lanesText(lanes: LaneSet): string {
  return lanes.map((lane) => lane.join(" ")).join("\n");
}

export function lanesOf(text: string): LaneSet {
  return text === "" ? [] : text.split("\n").map((lane) => lane.split(" "));
}

/** The lane moved up (-1) or down (1); at the end it stays. */
export function moved(lanes: LaneSet, at: number, by: -1 | 1): LaneSet {
  const lane = lanes[at];
  const other = lanes[at + by];
  if (lane === undefined || other === undefined) return lanes;
  return lanes.map((l, i) => (i === at ? other : i === at + by ? lane : l));
}

/** All channels of all lanes, once each. */
export function channelsOf(lanes: LaneSet): string[] {
  return [...new Set(lanes.flat())];
}

/** Share of the height: what is read most gets more. */
export function laneWeight(lane: readonly string[]): number {
  if (lane.includes("engine-speed")) return 1.7;
  return lane.includes("socket-voltage") ? 1.25 : 1;
}
