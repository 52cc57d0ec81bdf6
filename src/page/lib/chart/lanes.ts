import { socketVoltage } from "../../../../shared/decode.ts";
import type { Status } from "../../../../shared/messages.ts";
import type { ChannelStore, Series } from "../../../../shared/channels.ts";
import { parameterByPid } from "../../../../shared/parameters.ts";

export { laneColours } from "../../../sheet/chart/colours.ts";

/**
 * Which channels stand in which lane. A lane holds channels of one unit; most hold one. An entry is a channel, then
 * of the module that answered most often, or `channel@module`.
 */
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

/** Lanes by what a person is after; channels that were not read are left out. */
export const laneSets: Readonly<Record<string, LaneSet>> = {
  cranking: [
    ["engine-speed"],
    ["socket-voltage", "module-voltage"],
    ["manifold", "barometric"],
    ["throttle"],
    ["coolant", "intake-air"],
    ["rail-absolute"],
    ["fuel-system-1"],
  ],
  running: [
    ["engine-speed"],
    ["manifold"],
    ["air-flow"],
    ["throttle"],
    ["load"],
    ["coolant", "intake-air"],
    ["socket-voltage", "module-voltage"],
    ["advance"],
    ["vehicle-speed"],
  ],
  mixture: [
    ["trim-short-b1", "trim-long-b1"],
    ["trim-short-b2", "trim-long-b2"],
    ["oxygen-b1s1", "oxygen-b1s2"],
    ["oxygen-b2s1", "oxygen-b2s2"],
    ["lambda-b1s1", "lambda-b2s1"],
    ["air-flow"],
    ["manifold"],
    ["engine-speed"],
    ["fuel-system-1"],
  ],
  misfire: [
    ["engine-speed"],
    ["load"],
    ["advance"],
    ["trim-short-b1", "trim-short-b2"],
    ["oxygen-b1s1", "oxygen-b2s1"],
    ["coolant"],
  ],
};

/** What stands before `@`: the channel alone. */
export function channelOf(entry: string): string {
  const at = entry.indexOf("@");
  return at < 0 ? entry : entry.slice(0, at);
}

/** The module that an entry names; undefined for the one that answered most often. */
export function moduleOf(entry: string): string | undefined {
  const at = entry.indexOf("@");
  return at < 0 ? undefined : entry.slice(at + 1);
}

/** The readings that an entry stands for. */
export function seriesOf(channels: ChannelStore, entry: string): Series | undefined {
  return channels.find(channelOf(entry), moduleOf(entry));
}

/** The lane of these channels joined to the one above it, if all are of one unit. */
export function mergedUp(lanes: LaneSet, at: number, unitOf: (entry: string) => string): LaneSet {
  const lane = lanes[at];
  const above = lanes[at - 1];
  if (lane === undefined || above === undefined || !canMerge(lanes, at, unitOf)) return lanes;
  return lanes.flatMap((l, i) => (i === at - 1 ? [[...above, ...lane]] : i === at ? [] : [l]));
}

/** As many as there are colours for traces. */
export const mostInLane = 5;

export function canMerge(lanes: LaneSet, at: number, unitOf: (entry: string) => string): boolean {
  const both = [...(lanes[at - 1] ?? []), ...(lanes[at] ?? [])];
  if (at < 1 || lanes[at] === undefined || both.length > mostInLane) return false;
  return new Set(both.map(unitOf)).size === 1;
}

/** The lane's channels, each in a lane of its own. */
export function split(lanes: LaneSet, at: number): LaneSet {
  return lanes.flatMap((lane, i) => (i === at ? lane.map((entry) => [entry]) : [lane]));
}

/** Lanes that show a sign: its own channels first, best first, then what stood there before. */
export function lanesFor(channels: readonly string[], before: LaneSet): LaneSet {
  const wanted = channels.filter((channel) => !before.some((lane) => lane.includes(channel)));
  const first = before.filter((lane) => lane.some((entry) => channels.includes(channelOf(entry))));
  const rest = before.filter((lane) => !first.includes(lane));
  return [...first, ...wanted.map((channel) => [channel]), ...rest].slice(0, 12);
}

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
  return lanes
    .map((lane) => lane.filter((entry) => there.has(channelOf(entry))))
    .filter((lane) => lane.length > 0);
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

/** The lane taken out and put in so that it stands at `to`; the same lanes where that is its place already. */
export function movedTo(lanes: LaneSet, at: number, to: number): LaneSet {
  const lane = lanes[at];
  const place = Math.min(Math.max(to, 0), lanes.length - 1);
  if (lane === undefined || place === at) return lanes;
  const others = lanes.filter((_, i) => i !== at);
  return [...others.slice(0, place), lane, ...others.slice(place)];
}

/**
 * What says nothing before the engine has run: fuel trim stands at nought in open loop, and a cold oxygen sensor does
 * not switch (common practice; open loop at the start: SAE J1979, fuel system status).
 */
const saysRunning = /^(?:trim-|oxygen-|lambda-)/;

/** Lanes that cannot say anything yet: nothing of them was read, or the engine would have to run first. */
export function quietLanes(
  lanes: LaneSet,
  { ran, read }: { readonly ran: boolean; readonly read: (entry: string) => boolean },
): LaneSet {
  return lanes.filter((lane) => lane.every((entry) => !read(entry) || (!ran && saysRunning.test(entry))));
}

/** All channels of all lanes, once each. */
export function channelsOf(lanes: LaneSet): string[] {
  return [...new Set(lanes.flat().map(channelOf))];
}

/** Share of the height: what is read most gets more. */
function laneWeight(lane: readonly string[]): number {
  if (lane.includes("engine-speed")) return 1.7;
  return lane.includes("socket-voltage") ? 1.25 : 1;
}

/** Rows of the paper's grid: the ribbon, each lane by its share or folded, marks and time. */
export function laneRows(
  lanes: LaneSet,
  isFolded: (lane: readonly string[]) => boolean,
  heights: Readonly<Record<string, number>>,
): string {
  const row = (lane: readonly string[]): string => {
    if (isFolded(lane)) return "var(--folded)";
    const share = laneWeight(lane) * (heights[lane.join(" ")] ?? 1);
    return `minmax(calc(var(--least-lane) * ${Math.max(1, share)}), ${share}fr)`;
  };
  return `auto ${lanes.map(row).join(" ")} auto auto`;
}
