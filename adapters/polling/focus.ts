/**
 * What is looked at, and how closely, while the engine rests, is cranked, or runs. One table; the figures are ours
 * and are bounded by what a 10.4 kbit/s bus carries: about eight requests a second.
 */
import { socketVoltage } from "../../shared/decode.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import { firstSupply, foldSupply, isRested, type SupplyState } from "../../shared/supply.ts";

export const foci = ["survey", "cranking", "running"] as const;
export type Focus = (typeof foci)[number];

export interface Weight {
  /** Wanted share of the requests, against the shares of the others. */
  readonly share: number;
  /** Asked again before it is older than this, unless the bus is too slow for all of them. Milliseconds. */
  readonly maxAgeMs: number;
}

export interface FocusRow {
  readonly channel: string;
  readonly weights: Readonly<Record<Focus, Weight>>;
}

/** Share and longest age in seconds, for survey, cranking and running. */
function row(
  channel: string,
  survey: readonly [number, number],
  cranking: readonly [number, number],
  running: readonly [number, number],
): FocusRow {
  const weight = ([share, seconds]: readonly [number, number]): Weight => ({
    share,
    maxAgeMs: seconds * 1000,
  });
  return {
    channel,
    weights: { survey: weight(survey), cranking: weight(cranking), running: weight(running) },
  };
}

/** The usual set of channels, the ones that matter most first; a vehicle has only some of them. */
export const focusTable: readonly FocusRow[] = [
  row("engine-speed", [6, 1], [30, 0.3], [8, 1]),
  row(socketVoltage, [4, 1], [8, 0.5], [2, 2]),
  row("manifold", [2, 3], [8, 1.5], [5, 2]),
  row("air-flow", [2, 3], [5, 2], [5, 2]),
  row("throttle", [2, 3], [2, 4], [4, 2]),
  row("module-voltage", [2, 3], [2, 4], [1, 4]),
  row("coolant", [1, 5], [0.2, 15], [0.5, 8]),
  row("intake-air", [1, 5], [0.2, 15], [0.5, 8]),
  row("trim-short-b1", [0.5, 6], [0.05, 30], [4, 3]),
  row("trim-long-b1", [0.5, 8], [0.05, 30], [1, 6]),
  row("trim-short-b2", [0.5, 6], [0.05, 30], [4, 3]),
  row("trim-long-b2", [0.5, 8], [0.05, 30], [1, 6]),
  row("fuel-system-1", [0.5, 6], [0.1, 20], [1, 5]),
  row("load", [1, 5], [0.2, 15], [2, 4]),
  row("oxygen-b1s1", [0.5, 6], [0.05, 30], [3, 4]),
  row("advance", [1, 5], [0.5, 15], [2, 4]),
  row("vehicle-speed", [0.5, 6], [0.05, 30], [1, 4]),
  row("barometric", [0.1, 30], [0.02, 60], [0.05, 60]),
];

const tableRows: ReadonlyMap<string, FocusRow> = new Map(focusTable.map((r) => [r.channel, r]));

/** For a channel that the person chose and that stands in no row. */
const otherChannel: FocusRow["weights"] = row("", [1, 6], [0.2, 20], [1, 5]).weights;

/** A counter tells of a signal that comes or not: while cranking that is worth as much as the manifold pressure. */
const definedRows: Readonly<Record<DefinedParameter["kind"], FocusRow["weights"]>> = {
  counter: row("", [2, 3], [8, 1], [2, 2]).weights,
  value: row("", [1, 6], [2, 4], [1, 5]).weights,
};

/** For one that nobody chose and the signs need: fresh enough for them, and no more. */
const heardRows: FocusRow["weights"] = row("", [0.2, 15], [0.05, 30], [0.3, 6]).weights;

/** How much a pinned channel's share grows; its longest age shrinks as much. */
export const pinnedFactor = 4;

export interface WeightOptions {
  readonly pinned?: boolean;
  /** Of a channel that the person defined. */
  readonly defined?: DefinedParameter["kind"] | undefined;
  /** Not chosen, and asked for the signs' sake. */
  readonly heard?: boolean;
}

export function weightOf(channel: string, focus: Focus, options: WeightOptions = {}): Weight {
  const { pinned, defined, heard } = options;
  // What leads, leads, whether it is drawn or not.
  if (heard === true && focusStyles[focus].leads?.channel !== channel) return heardRows[focus];
  const own = defined === undefined ? otherChannel : definedRows[defined];
  const weight = (tableRows.get(channel)?.weights ?? own)[focus];
  if (pinned !== true) return weight;
  return { share: weight.share * pinnedFactor, maxAgeMs: weight.maxAgeMs / pinnedFactor };
}

/** How requests are put together under a focus. */
export interface FocusStyle {
  /**
   * The channel that has at least this part of the bus requests to itself, if the vehicle has it; a request
   * for several parameters always holds it.
   */
  readonly leads: { readonly channel: string; readonly part: number } | null;
  /** Most bytes of a reply to several parameters, service byte included; 7 fit into one CAN frame, 27 into four. */
  readonly mostBytes: number;
  /** The voltage is not read more often than this: on a fast bus it would take the time of other channels. */
  readonly voltsEveryMs: number;
}

export const focusStyles: Readonly<Record<Focus, FocusStyle>> = {
  survey: { leads: null, mostBytes: 27, voltsEveryMs: 150 },
  cranking: { leads: { channel: "engine-speed", part: 2 / 3 }, mostBytes: 7, voltsEveryMs: 60 },
  running: { leads: null, mostBytes: 27, voltsEveryMs: 500 },
};

/** Cranking is told by a supply that sags, or by an engine speed above zero and below this, rpm: no starter turns faster. */
export const crankingBelowRpm = 450;

/** A speed has to be held this long before the engine counts as running. */
const runningAfterMs = 600;
/** Rest has to last this long before the eye is taken off the starter. */
const restAfterMs = 1500;

export interface FocusState {
  readonly focus: Focus;
  /** The person wants cranking to be caught from its first instant: cranking focus until one crank is over. */
  readonly armed: boolean;
  readonly supply: SupplyState;
  readonly volts: number | null;
  readonly rpm: number | null;
  /** Since when the engine turns at 450 rpm or more; null when it does not. */
  readonly fastSinceMs: number | null;
  /** Since when everything is at rest. */
  readonly restSinceMs: number | null;
  /** A crank was seen since arming. */
  readonly cranked: boolean;
}

export const firstFocus: FocusState = {
  focus: "survey",
  armed: false,
  supply: firstSupply,
  volts: null,
  rpm: null,
  fastSinceMs: null,
  restSinceMs: null,
  cranked: false,
};

export type FocusInput =
  | { readonly kind: "volts"; readonly now: number; readonly volts: number }
  /** null: asked, no answer. */
  | { readonly kind: "speed"; readonly now: number; readonly rpm: number | null }
  | { readonly kind: "arm"; readonly now: number; readonly armed: boolean };

/** Pure: the focus that follows from one more thing seen. Milliseconds of one monotonic clock. */
export function foldFocus(state: FocusState, input: FocusInput): FocusState {
  switch (input.kind) {
    case "arm":
      return {
        ...state,
        armed: input.armed,
        cranked: false,
        restSinceMs: null,
        focus: input.armed && state.focus === "survey" ? "cranking" : state.focus,
      };
    case "volts":
      return decide(
        { ...state, volts: input.volts, supply: foldSupply(state.supply, input.now, input.volts) },
        input.now,
      );
    case "speed":
      return decide(withSpeed(state, input.rpm, input.now), input.now);
  }
}

function withSpeed(state: FocusState, rpm: number | null, now: number): FocusState {
  const fast = rpm !== null && rpm >= crankingBelowRpm;
  return { ...state, rpm, fastSinceMs: fast ? (state.fastSinceMs ?? now) : null };
}

function decide(state: FocusState, now: number): FocusState {
  const { rpm, volts, supply, fastSinceMs } = state;
  const { sagSinceMs } = supply;
  const turning = rpm !== null && rpm > 0 && rpm < crankingBelowRpm;
  const fast = fastSinceMs !== null;
  const cranking = !fast && (turning || sagSinceMs !== null);
  const rested = !fast && !turning && (volts === null || isRested(supply, volts));
  const restSinceMs = rested ? (state.restSinceMs ?? now) : null;
  const next = { ...state, restSinceMs, cranked: state.cranked || cranking };
  const runs = fast && now - fastSinceMs >= runningAfterMs;
  const rests = restSinceMs !== null && now - restSinceMs >= restAfterMs;
  switch (state.focus) {
    case "survey":
      if (cranking) return { ...next, focus: "cranking" };
      return fast ? { ...next, focus: "running" } : next;
    case "cranking":
      if (runs) return { ...next, focus: "running", armed: false };
      if (rests && (!state.armed || next.cranked)) return { ...next, focus: "survey", armed: false };
      return next;
    case "running":
      if (cranking && sagSinceMs !== null) return { ...next, focus: "cranking" };
      return rests ? { ...next, focus: "survey" } : next;
  }
}
