/** Temperature circuits at the ends of their scale, and whether the coolant follows the engine. */
import type { Context } from "./context.ts";
import { Evidence, Windows } from "./evidence.ts";
import type { Instant, Topic } from "./placed.ts";
import type { Sign, Window } from "./schema.ts";
import { judge, makeSign } from "./sign.ts";

const channels = [
  ["coolant", "coolant"],
  ["intake-air", "intake air"],
  ["ambient", "outside air"],
  ["oil", "oil"],
] as const;

const followed: ReadonlySet<string> = new Set(channels.map(([channel]) => channel));

/** Ends of the scale, °C: open reads -40, short 140 and more (from memory). */
const openAt = -39.5;
const shortAt = 140;
const stillAfterMs = 300_000;
const warmAfterMs = 900_000;
const coldStart = 60;

interface Circuit {
  n: number;
  readonly open: Windows;
  readonly short: Windows;
  opened: number;
  shorted: number;
  last: number;
}

interface Run {
  readonly from: number;
  first: number;
  low: number;
  high: number;
  n: number;
  to: number;
}

export class Temperatures implements Topic {
  readonly #circuits = new Map<string, Circuit>();
  readonly #warm = new Evidence();
  #run: Run | null = null;
  /** The longest run from cold so far. */
  #best: Run | null = null;
  #from: number | null = null;

  take(instant: Instant): void {
    if (!instant.running) {
      this.#run = null;
      this.#from = null;
    } else {
      this.#from ??= instant.since;
    }
    for (const { channel, value } of instant.readings)
      if (followed.has(channel) && !Number.isNaN(value)) this.#circuit(channel, instant.t, value);
    const coolant = instant.get("coolant");
    if (coolant === undefined || this.#from === null) return;
    this.#run ??= { from: this.#from, first: coolant, low: coolant, high: coolant, n: 0, to: instant.t };
    const run = this.#run;
    run.low = Math.min(run.low, coolant);
    run.high = Math.max(run.high, coolant);
    run.n += 1;
    run.to = instant.t;
    if (
      run.first < coldStart &&
      (this.#best === null || run.to - run.from >= this.#best.to - this.#best.from)
    )
      this.#best = run;
    if (instant.t - run.from >= warmAfterMs) this.#warm.add(instant.t, coolant);
  }

  #circuit(channel: string, t: number, value: number): void {
    let circuit = this.#circuits.get(channel);
    if (circuit === undefined) {
      circuit = { n: 0, open: new Windows(), short: new Windows(), opened: 0, shorted: 0, last: value };
      this.#circuits.set(channel, circuit);
    }
    circuit.n += 1;
    circuit.last = value;
    if (value <= openAt) {
      circuit.opened += 1;
      circuit.open.add(t);
    } else if (value >= shortAt) {
      circuit.shorted += 1;
      circuit.short.add(t);
    }
  }

  signs(context: Context): Sign[] {
    return [...this.#circuitSigns(context), ...this.#stillSign(), ...this.#warmSign(context)];
  }

  #circuitSigns(context: Context): Sign[] {
    const range = context.ranges.figure("temperature");
    return channels.flatMap(([channel, words]) => {
      const circuit = this.#circuits.get(channel);
      if (circuit === undefined) return [];
      const worst = Math.max(circuit.opened, circuit.shorted);
      const open = circuit.opened >= circuit.shorted;
      // One odd reading is noise; two that agree are a circuit.
      const bad = worst >= 2;
      const edge = judge(circuit.last, range);
      return [
        makeSign("sensor.temperature-circuit", {
          verdict: bad
            ? "outside"
            : circuit.n < 2
              ? "cannot-tell"
              : edge.verdict === "within"
                ? "within"
                : "near",
          side: bad ? (open ? "low" : "high") : edge.side,
          of: channel,
          windows: bad ? (open ? circuit.open.list : circuit.short.list) : [],
          channels: [channel],
          range,
          // No air is as hot as the hot end of the scale.
          ...(bad && !open ? { excluded: ["really-cold"] as const } : {}),
          measured: {
            value: bad ? (open ? -40 : shortAt) : circuit.last,
            unit: "°C",
            what: bad
              ? `${words}, ${worst} of ${circuit.n} readings at the end of the scale`
              : `${words}, last reading`,
            samples: circuit.n,
            rate: null,
          },
        }),
      ];
    });
  }

  #stillSign(): Sign[] {
    const run = this.#best;
    if (run === null || run.to - run.from < stillAfterMs || run.n < 10) return [];
    if (run.low <= openAt || run.high >= shortAt) return [];
    const rise = run.high - run.low;
    return [
      makeSign("sensor.coolant-still", {
        verdict: rise <= 1 ? "outside" : rise <= 4 ? "near" : "within",
        windows: [windowOf(run)],
        channels: ["coolant"],
        measured: {
          value: rise,
          unit: "°C",
          what: `change of coolant in ${((run.to - run.from) / 60_000).toFixed(0)} min of running from ${run.first} °C`,
          samples: run.n,
          rate: null,
        },
      }),
    ];
  }

  #warmSign(context: Context): Sign[] {
    if (this.#warm.n < 5) return [];
    const range = context.ranges.figure("coolant-warm");
    const value = this.#warm.tally.quantile(0.5);
    return [
      makeSign("sensor.coolant-warm", {
        ...judge(value, range, 3),
        windows: this.#warm.windows,
        channels: ["coolant"],
        range,
        measured: this.#warm.measured("median coolant after 15 min of running", "°C", value),
      }),
    ];
  }
}

function windowOf(run: Run): Window {
  return { from: run.from, to: run.to };
}
