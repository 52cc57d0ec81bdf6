/** What went wrong between the starts: stalls, a speed signal that drops out, modules and links that fall silent. */
import type { Series } from "../../../shared/channels.ts";
import { socketVoltage } from "../../../shared/decode.ts";
import type { Context } from "../folds/context.ts";
import { Windows } from "../folds/figureReadings.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import { crankLimits } from "./cranks.ts";
import { regimeLimits } from "../folds/regimeLimits.ts";
import type { Sign, Window } from "../report/schema.ts";
import type { RegimeSpan } from "../folds/regimes.ts";
import { makeSign, type SignParts } from "../report/sign.ts";
import { runs } from "../folds/running.ts";
import { between, interval, ownSeries } from "../folds/windows.ts";

/** A stop with the key on for this long, or a crank this soon after, is no key turned off; milliseconds. */
const surelyStalledMs = 10_000;
const restartMs = 60_000;

/** Readings of zero between two of a running engine. */
export class LostSignal implements Topic {
  readonly #windows = new Windows();
  #events = 0;
  #n = 0;
  #lastRun: number | null = null;
  #zeroAt: number | null = null;

  take(instant: Instant): void {
    const speed = instant.get("engine-speed");
    if (speed === undefined) return;
    if (!instant.running) {
      this.#lastRun = null;
      this.#zeroAt = null;
      return;
    }
    this.#n += 1;
    if (speed >= regimeLimits.running) {
      if (this.#zeroAt !== null && this.#lastRun !== null) {
        this.#events += 1;
        this.#windows.addWindow({ from: this.#zeroAt, to: instant.t });
      }
      this.#lastRun = instant.t;
      this.#zeroAt = null;
    } else if (speed < regimeLimits.turning && this.#lastRun !== null) this.#zeroAt ??= instant.t;
  }

  signs(context: Context): Sign[] {
    const jumps = impossibleStarts(context);
    const events = this.#events + jumps.length;
    if (this.#n < 30 && events === 0) return [];
    return [
      makeSign("crank.lost-signal", {
        verdict: events >= 3 || jumps.length > 0 ? "outside" : events === 2 ? "near" : "within",
        windows: [...jumps, ...this.#windows.list],
        channels: ["engine-speed", "module-voltage", "manifold"],
        measured: {
          value: events,
          unit: "count",
          what: "times engine speed read zero while the engine ran on",
          samples: this.#n,
          rate: null,
        },
      }),
    ];
  }
}

/** From standing still to running within two quick readings, without a sag: no engine does that by itself. */
function impossibleStarts(context: Context): Window[] {
  return context.cranks
    .filter((crank) => {
      if (!crank.unseen || crank.fireWithinS === null || crank.fireWithinS > 0.6) return false;
      const before = context.spans.findLast((s) => s.to <= crank.from + 1 || s.from < crank.from);
      const stalled = context.spans.some(
        (s) => s.regime === "stall" && s.from < crank.to && crank.to - s.from < 10_000,
      );
      return before !== undefined && stalled && crank.meanVolts === null;
    })
    .map(({ from, to }) => ({ from, to }));
}

export function stallSigns(context: Context): Sign[] {
  const { spans } = context;
  if (!spans.some((s) => runs(s.regime))) return [];
  const stalls = spans.flatMap((span, i) => {
    if (span.regime !== "stall" || diedStarting(context, span.from)) return [];
    if (context.disturbed.at(span.from, "stall")) return [];
    let j = i + 1;
    while (spans[j]?.regime === "key-on") j += 1;
    const next = spans[j];
    const stood = (spans[j - 1]?.to ?? span.to) - span.from;
    const cranked = next !== undefined && (next.regime === "cranking" || next.regime === "no-speed");
    const sure = stood >= surelyStalledMs || (cranked && next.from - span.from <= restartMs);
    const rolling = rolled(context, span.from) && stood <= surelyStalledMs && next !== undefined;
    return [{ span, sure, restarted: cranked, rolling }];
  });
  const shutOffs = spans.filter((s) => s.regime === "shut-off");
  const last = stalls.at(-1);
  if (last === undefined) return [makeSign("crank.stall", { verdict: "within", ...shutOffParts(shutOffs) })];
  const sure = stalls.filter((s) => s.sure);
  // One that rolled and was started at once can have been a clumsy clutch.
  const clutch = stalls.length === 1 && last.rolling;
  return [
    makeSign("crank.stall", {
      verdict: sure.length > 0 && !clutch ? "outside" : "near",
      ...(clutch ? { looksLike: ["stalled-by-driver"] } : {}),
      windows: stalls.map(({ span }) => ({ from: span.from, to: span.to })).reverse(),
      channels: ["engine-speed", "manifold", "module-voltage"],
      measured: {
        value: stalls.length,
        unit: "count",
        what: last.restarted ? "stalls; after the last one the starter was used again" : "stalls",
        samples: stalls.length,
        rate: null,
      },
      note: clutch
        ? "The vehicle rolled and the engine was started again at once: a clutch let out too far does that too."
        : sure.length === 0
          ? "The key may have done it: the module answered for a moment only."
          : undefined,
    }),
  ];
}

/** Rolling slowly to a stop or off it: km/h, in the seconds before. */
const rollingMost = 30;
const rollingMs = 5000;

function rolled(context: Context, t: number): boolean {
  const { values } = between(ownSeries(context.source.channels, "vehicle-speed"), t - rollingMs, t);
  return values.some((v) => v > 0) && Math.max(...values) <= rollingMost && (values.at(-1) ?? 0) > 0;
}

function shutOffParts(
  shutOffs: readonly RegimeSpan[],
): Pick<SignParts, "windows" | "channels" | "measured" | "note"> {
  if (shutOffs.length === 0) return {};
  return {
    windows: shutOffs
      .map(({ from, to }) => ({ from, to }))
      .reverse()
      .slice(0, 5),
    channels: ["engine-speed", "throttle", "manifold"],
    measured: {
      value: shutOffs.length,
      unit: "count",
      what: "times the engine was shut off at standstill, which is no stall",
      samples: shutOffs.length,
      rate: null,
    },
  };
}

/** That the engine died right after it fired is told of the crank. */
function diedStarting(context: Context, t: number): boolean {
  return context.cranks.some(
    (c) => c.outcome === "fired-and-died" && t >= c.to && t - c.to <= crankLimits.keptRunningS * 1000 + 500,
  );
}

export function linkSigns(context: Context): Sign[] {
  return [
    ...gapSign(context),
    ...collapseSign(context),
    ...silentSign(context),
    ...noModuleSign(context),
    ...oneSilentSign(context),
  ];
}

/** Nobody answered for this long behind a working adapter, milliseconds: the search through all protocols is over. */
const nobodyMs = 5000;

/** The adapter works, and no module was ever heard. */
function noModuleSign({ source, until }: Context): Sign[] {
  const adapter = source.links.find((l) => l.state === "identified");
  if (adapter === undefined || source.modules.size > 0 || source.protocol !== null) return [];
  const from = adapter.t;
  if (until - from < nobodyMs) return [];
  const socket = ownSeries(source.channels, socketVoltage);
  const last = socket?.values.at(-1);
  return [
    makeSign("link.no-module", {
      verdict: "outside",
      windows: [{ from, to: until }],
      channels: [socketVoltage],
      measured: {
        value: last === undefined || Number.isNaN(last) ? null : last,
        unit: "V",
        what: "at the socket, while no module answered",
        samples: socket?.values.length ?? 0,
        rate: null,
      },
    }),
  ];
}

/** A module that answers no more while another one is read on the same channel, milliseconds. */
const oneSilentMs = 10_000;
/** Readings that it must have given before. */
const oneSilentReadings = 10;

/** One module stopped answering a question that another one goes on answering. */
function oneSilentSign({ source, until }: Context): Sign[] {
  const silent = new Map<string, number>();
  for (const channel of source.channels.channels) {
    const all = source.channels.of(channel).map((series) => {
      return { module: series.module, count: series.times.length, last: lastReading(series) };
    });
    if (all.length < 2) continue;
    const newest = Math.max(...all.map(({ last }) => last));
    if (until - newest > oneSilentMs / 2) continue;
    for (const { module, count, last } of all)
      if (count >= oneSilentReadings && newest - last >= oneSilentMs)
        silent.set(module, Math.max(silent.get(module) ?? 0, last));
  }
  // One that answers anything at all is not silent.
  for (const series of source.channels.all())
    if (silent.has(series.module) && until - lastReading(series) < oneSilentMs) silent.delete(series.module);
  if (silent.size === 0) return [];
  return [
    makeSign("link.one-silent", {
      verdict: "outside",
      windows: [...silent.values()].map((t) => ({ from: t, to: until })),
      channels: ["engine-speed"],
      measured: {
        value: silent.size,
        unit: "count",
        what: `modules that fell silent while others answer: ${[...silent.keys()].sort().join(", ")}`,
        samples: silent.size,
        rate: null,
      },
    }),
  ];
}

function lastReading({ times, values }: Series): number {
  for (let i = times.length - 1; i >= 0; i--)
    if (!Number.isNaN(values[i] ?? Number.NaN)) return times[i] ?? Number.NEGATIVE_INFINITY;
  return Number.NEGATIVE_INFINITY;
}

function gapSign(context: Context): Sign[] {
  const { gaps } = context.source;
  if (gaps.length === 0) return [];
  // One that lasts may begin behind what is settled.
  const windows = gaps.map((g) => ({ from: g.from, to: Math.max(g.from, g.to ?? context.until) })).reverse();
  const seconds = windows.reduce((s, w) => s + (w.to - w.from) / 1000, 0);
  const why = [...new Set(gaps.map((g) => g.why))].join("; ");
  return [
    makeSign("link.gaps", {
      verdict: "outside",
      windows: windows.slice(0, 5),
      measured: {
        value: seconds,
        unit: "s",
        what: `without a link (${why})`,
        samples: gaps.length,
        rate: null,
      },
    }),
  ];
}

/** The adapter warning of low voltage, or starting anew while the starter works. */
function collapseSign(context: Context): Sign[] {
  const inCrank = (t: number): boolean => context.cranks.some((c) => t >= c.from - 500 && t <= c.to + 2000);
  const events = context.source.links.filter(
    (l) => l.state === "low-voltage" || ((l.state === "reset" || l.state === "lost") && inCrank(l.t)),
  );
  if (events.length === 0) return [];
  const sure = events.filter((e) => e.state === "low-voltage" || e.state === "reset");
  const seen = events.some((e) => inCrank(e.t));
  return [
    makeSign("power.collapse", {
      verdict: sure.length > 0 ? "outside" : "near",
      windows: events
        .map((e) => ({ from: Math.max(0, e.t - 1000), to: e.t + 500 }))
        .reverse()
        .slice(0, 5),
      channels: [socketVoltage, "module-voltage", "engine-speed"],
      measured: {
        value: events.length,
        unit: "count",
        what: `times the adapter dropped out (${[...new Set(events.map((e) => e.state))].join(", ")})`,
        samples: events.length,
        rate: null,
      },
      note: seen
        ? undefined
        : "Nothing else answered then: whether the starter was on is not on the recording.",
    }),
  ];
}

function silentSign(context: Context): Sign[] {
  const speed = ownSeries(context.source.channels, "engine-speed");
  const socket = ownSeries(context.source.channels, socketVoltage);
  if (socket === undefined) return [];
  const silent = context.cranks.filter((crank) => {
    const volts = between(socket, crank.from, crank.to + 1000);
    if (volts.values.length < 2) return false;
    const before = between(speed, crank.from - 10_000, crank.from - 1).values.length;
    const usual = interval(speed, crank.from - 10_000, crank.from - 1);
    // What was answered as the sag ended belongs to the time after.
    const late = Number.isFinite(usual) ? 1.5 * usual : 0;
    const answered = between(speed, crank.from, crank.to - late).values.length;
    // Asked as often as before, at least three answers are missing.
    return (
      answered === 0 &&
      (before > 2 ? (crank.to - crank.from) / usual >= 3 : before === 0 && crank.lengthS >= 1)
    );
  });
  if (context.cranks.length === 0) return [];
  const last = silent.at(-1);
  if (last === undefined) return [];
  return [
    makeSign("link.silent-module", {
      verdict: "outside",
      windows: silent.map(({ from, to }) => ({ from, to })).reverse(),
      channels: [socketVoltage, "engine-speed"],
      measured: {
        value: silent.length,
        unit: "count",
        what: "cranks in which the module did not answer while the socket had voltage",
        samples: silent.length,
        rate: null,
      },
    }),
  ];
}
