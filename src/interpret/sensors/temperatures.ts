/** Temperature circuits at the ends of their scale, and whether the coolant follows the engine. */
import type { Context } from "../folds/context.ts";
import { FigureReadings, Windows } from "../folds/figureReadings.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { Sign, Window } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";

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
/** Up to here, °C, a reading in still air is as good as any. */
const hottestStill = 60;
const stillAfterMs = 300_000;
const warmAfterMs = 900_000;
const coldStart = 60;

/**
 * A sensor in the intake, a heated one above all, is warmed by what stands about it as soon as nothing flows, and for a
 * while after: an open data set shows 118 to 147 °C within 20 s of a stop, back below 60 within 30 s of flow. Such a
 * reading moves; a shorted circuit's stands still. Milliseconds, and °C.
 */
const stillAir = { channels: new Set(["intake-air"]), afterMs: 30_000, leastMs: 20_000, least: 15, moves: 1 };
const stillAirNote =
  "Read with no air flowing, or just after: the sensor was heat-soaked. Needs half a minute of running.";

/** Hot readings while no air flows: one value that stands still is a circuit, one that moves is heat. */
class StillAir {
  #run: { from: number; to: number; low: number; high: number; n: number } | null = null;
  /** Readings of the longest stretch that stood still at the hot end. */
  stood = 0;
  skipped = 0;

  take(t: number, value: number): void {
    this.skipped += 1;
    if (value < shortAt) {
      this.#run = null;
      return;
    }
    this.#run ??= { from: t, to: t, low: value, high: value, n: 0 };
    const run = this.#run;
    run.to = t;
    run.n += 1;
    run.low = Math.min(run.low, value);
    run.high = Math.max(run.high, value);
    if (run.high - run.low > stillAir.moves) this.#run = null;
    else if (run.n >= stillAir.least && run.to - run.from >= stillAir.leastMs)
      this.stood = Math.max(this.stood, run.n);
  }
}

interface Circuit {
  n: number;
  readonly still: StillAir;
  readonly open: Windows;
  readonly short: Windows;
  opened: number;
  shorted: number;
  last: number;
}

const warmingNote = "It was still warming up when the recording ended. Needs running until it stops rising.";

/** Whether the coolant still warms: the last five minutes against the five before. */
class Rising {
  readonly #minutes: { minute: number; sum: number; n: number }[] = [];

  take(t: number, coolant: number): void {
    const minute = Math.floor(t / 60_000);
    const last = this.#minutes.at(-1);
    if (last?.minute === minute) {
      last.sum += coolant;
      last.n += 1;
    } else this.#minutes.push({ minute, sum: coolant, n: 1 });
    if (this.#minutes.length > 10) this.#minutes.shift();
  }

  forget(): void {
    this.#minutes.length = 0;
  }

  get rises(): boolean {
    const means = this.#minutes.map((m) => m.sum / m.n);
    const first = means[0];
    const end = means.at(-1);
    if (first === undefined || end === undefined) return false;
    // Less than half a degree a minute is a thermostat that lets go, or never held.
    return means.length < 3 || end - first >= 0.5 * (means.length - 1);
  }
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
  readonly #warm = new FigureReadings();
  readonly #rising = new Rising();
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
    // Where nothing tells of the engine, air may be flowing.
    const flows = instant.running && this.#from !== null && instant.t - this.#from >= stillAir.afterMs;
    for (const { channel, value } of instant.readings) {
      if (!followed.has(channel) || Number.isNaN(value)) continue;
      this.#circuit(channel, instant.t, value, flows || !stillAir.channels.has(channel));
    }
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
    if (instant.t - run.from >= warmAfterMs) {
      this.#warm.add(instant.t, coolant);
      this.#rising.take(instant.t, coolant);
    } else this.#rising.forget();
  }

  #circuit(channel: string, t: number, value: number, flows: boolean): void {
    let circuit = this.#circuits.get(channel);
    if (circuit === undefined) {
      circuit = {
        n: 0,
        still: new StillAir(),
        open: new Windows(),
        short: new Windows(),
        opened: 0,
        shorted: 0,
        last: value,
      };
      this.#circuits.set(channel, circuit);
    }
    // Heat never makes a sensor read cold.
    if (!flows && value > hottestStill) {
      circuit.still.take(t, value);
      return;
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
      const shorted = circuit.shorted + circuit.still.stood;
      const worst = Math.max(circuit.opened, shorted);
      const open = circuit.opened >= shorted;
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
          note: !bad && circuit.n < 2 && circuit.still.skipped > 0 ? stillAirNote : undefined,
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
    const found = judge(value, range, 3);
    // An engine that gives off little heat, or rests in between, takes longer: it is judged where it no longer warms.
    const warming = found.verdict === "outside" && found.side === "low" && this.#rising.rises;
    return [
      makeSign("sensor.coolant-warm", {
        ...found,
        ...(warming ? { verdict: "near", note: warmingNote } : {}),
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
