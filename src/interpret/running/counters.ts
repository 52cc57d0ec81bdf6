/** Counters that a person defined: they must move while the engine turns, in proportion to its turns. */
import { channelInfo } from "../../../shared/decode.ts";
import { counterSteps } from "../../../shared/defined.ts";
import type { Regime } from "../../../shared/ranges.ts";
import type { Context } from "../folds/context.ts";
import { round, Windows } from "../folds/figureReadings.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { Sign } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";
import { median } from "../maths/stats.ts";

export const counterLimits = {
  /** Turns without a step that make it stand still, and readings that must agree. */
  stillTurns: 5,
  stillReadings: 3,
  leastSteps: 8,
  /** Longest time between two readings of speed that turns are counted across, milliseconds. */
  longestStepMs: 3000,
  keptSteps: 400,
  /** Without a speed: steps of other counters, and the time without one of its own, that show that it stands still. */
  otherSteps: 5,
  stillMs: 2500,
} as const;

const turning: ReadonlySet<Regime> = new Set<Regime>(["cranking", "no-speed"]);

interface Counter {
  value: number;
  t: number;
  turns: number;
  /** Since its last step: readings, turns, time. */
  readings: number;
  stillFrom: number;
  stillTurns: number;
  othersAt: number;
  wrap: number;
  n: number;
  moved: number;
  still: number;
  readonly stillAt: Windows;
  readonly ratios: { t: number; ratio: number }[];
}

export class Counters implements Topic {
  readonly #isCounter: (channel: string) => boolean;
  readonly #bitsOf: (channel: string) => number | undefined;
  readonly #counters = new Map<string, Counter>();
  readonly #plain = new Set<string>();
  #turns = 0;
  /** Readings of any counter that had moved. */
  #moves = 0;
  #last: { t: number; speed: number } | null = null;

  /** `bitsOf`: how long a counter is, where its definition is known. */
  constructor(
    isCounter: (channel: string) => boolean,
    bitsOf: (channel: string) => number | undefined = () => undefined,
  ) {
    this.#isCounter = isCounter;
    this.#bitsOf = bitsOf;
  }

  take(instant: Instant): void {
    const speed = instant.get("engine-speed");
    if (speed !== undefined) {
      if (this.#last !== null && instant.t - this.#last.t <= counterLimits.longestStepMs)
        this.#turns += ((this.#last.speed + speed) / 2) * ((instant.t - this.#last.t) / 60_000);
      this.#last = { t: instant.t, speed };
    }
    if (!this.#any(instant)) return;
    // By name: counters look at each other, and the order within an instant must not matter.
    instant.readings
      .filter((r) => !Number.isNaN(r.value) && this.#isCounter(r.channel))
      .sort((a, b) => (a.channel < b.channel ? -1 : 1))
      .forEach((r) => {
        this.#counter(r.channel, r.value, instant);
      });
  }

  /** Channels of the standard's table are none, and they are nearly all there is. */
  #any(instant: Instant): boolean {
    for (const { channel } of instant.readings) {
      if (this.#plain.has(channel)) continue;
      if (channelInfo(channel) === undefined) return true;
      this.#plain.add(channel);
    }
    return false;
  }

  #counter(channel: string, value: number, instant: Instant): void {
    const { t, regime, running } = instant;
    const counter = this.#counters.get(channel);
    if (counter === undefined) {
      this.#counters.set(channel, this.#fresh(value, t));
      return;
    }
    const turns = this.#turns - counter.turns;
    counter.turns = this.#turns;
    const bits = this.#bitsOf(channel);
    counter.wrap = Math.max(counter.wrap, value > 255 ? 65_536 : 256);
    const wrapped = (((value - counter.value) % counter.wrap) + counter.wrap) % counter.wrap;
    const step = bits === undefined ? wrapped : counterSteps(counter.value, value, bits);
    if (step !== null && (running || turning.has(regime))) this.#step(counter, { t, step, turns });
    else counter.readings = 0;
    counter.value = value;
    counter.t = t;
  }

  #step(counter: Counter, move: { readonly t: number; readonly step: number; readonly turns: number }): void {
    counter.n += 1;
    if (move.turns > 0.5) {
      counter.ratios.push({ t: move.t, ratio: move.step / move.turns });
      if (counter.ratios.length > counterLimits.keptSteps) counter.ratios.shift();
    }
    if (move.step !== 0) {
      counter.moved += 1;
      this.#moves += 1;
      counter.readings = 0;
      counter.stillTurns = 0;
      return;
    }
    if (counter.readings === 0) {
      counter.stillFrom = counter.t;
      counter.othersAt = this.#moves;
    }
    counter.readings += 1;
    counter.stillTurns += move.turns;
    const others = this.#moves - counter.othersAt >= counterLimits.otherSteps;
    const long =
      counter.stillTurns >= counterLimits.stillTurns ||
      (others && move.t - counter.stillFrom >= counterLimits.stillMs);
    if (long && counter.readings >= counterLimits.stillReadings) {
      counter.still += 1;
      counter.stillAt.addWindow({ from: counter.stillFrom, to: move.t });
    }
  }

  #fresh(value: number, t: number): Counter {
    return {
      value,
      t,
      turns: this.#turns,
      readings: 0,
      stillFrom: t,
      stillTurns: 0,
      othersAt: 0,
      wrap: value > 255 ? 65_536 : 256,
      n: 0,
      moved: 0,
      still: 0,
      stillAt: new Windows(),
      ratios: [],
    };
  }

  signs(context: Context): Sign[] {
    return [...this.#counters].flatMap(([channel, counter]) => {
      const name = context.source.info(channel).name;
      const channels = [channel, "engine-speed"];
      if (counter.n < counterLimits.stillReadings)
        return [makeSign("counter.still", { verdict: "cannot-tell", of: channel, channels })];
      const still = makeSign("counter.still", {
        verdict: counter.still > 0 ? "outside" : counter.moved > 0 ? "within" : "cannot-tell",
        of: channel,
        windows: counter.stillAt.list,
        channels,
        measured: {
          value: counter.moved,
          unit: "count",
          what: `steps of ${name} in ${counter.n} readings while the engine turned`,
          samples: counter.n,
          rate: null,
        },
      });
      return [still, ...this.#steps(channel, counter, context)];
    });
  }

  /** A missing or extra step shows against the counter's own usual steps a turn. */
  #steps(channel: string, counter: Counter, context: Context): Sign[] {
    if (counter.ratios.length < counterLimits.leastSteps) return [];
    const range = context.ranges.figure("counter-step");
    const usual = median(counter.ratios.map((r) => r.ratio));
    if (usual <= 0) return [];
    const odd = counter.ratios.filter((r) => judge(r.ratio / usual, range).verdict === "outside");
    const share = odd.length / counter.ratios.length;
    return [
      makeSign("counter.steps", {
        verdict:
          share > 0.15 && odd.length >= 3 ? "outside" : share > 0.05 && odd.length >= 2 ? "near" : "within",
        of: channel,
        windows: odd
          .slice(-5)
          .reverse()
          .map((r) => ({ from: r.t - 1000, to: r.t })),
        channels: [channel, "engine-speed"],
        range,
        measured: {
          value: round(share * 100, 1),
          unit: "%",
          what: `steps off the usual ${usual.toFixed(2)} a turn by more than the range`,
          samples: counter.ratios.length,
          rate: null,
        },
      }),
    ];
  }
}
