/** Signs of the start, over all attempts. */
import { supplyScale } from "../../../shared/supply.ts";
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import { leastCrankVolts, type HeldRange } from "../report/ranges.ts";
import type { Counted, Crank, Sign } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";
import { overCranks, type Found } from "./attempts.ts";
import { heldBack, lookUnseen, turned, unseenFound } from "./strengthSigns.ts";

/** The manifold takes about a second of cranking to empty, seconds. */
const shortCrankS = 1.5;
const oneReading = "One reading only: it can be from anywhere in the crank.";

export function crankSigns(context: Context): Sign[] {
  if (context.cranks.length === 0) return [makeSign("crank.attempts", { verdict: "cannot-tell" })];
  return [...supply(context), ...speed(context), ...breathing(context), ...course(context)];
}

/** A 24 V system has twice the volts of the table. */
function scaled(range: HeldRange, rest: Counted): HeldRange {
  const factor = range.replaced ? 1 : supplyScale(rest?.value ?? null);
  return {
    ...range,
    low: range.low === null ? null : range.low * factor,
    high: range.high === null ? null : range.high * factor,
    margin: range.margin * factor,
  };
}

function supply(context: Context): Sign[] {
  const rest = overCranks("power.rest-voltage", context, (crank) => {
    if (crank.restVolts === null) return null;
    const range = scaled(context.ranges.figure("rest-voltage"), crank.restVolts);
    const { value, samples } = crank.restVolts;
    const found = judge(value, range, samples < 3 ? 0.1 : 0.05);
    return {
      side: found.side,
      // Too much is what a charger leaves, or running a moment ago.
      verdict: found.verdict === "outside" && found.side === "high" ? "near" : found.verdict,
      value,
      samples,
      unit: "V",
      what: "volts before the starter",
      range,
      channels: [crank.voltsFrom ?? "module-voltage"],
    };
  });
  const cranking = overCranks("power.crank-voltage", context, (crank) => {
    if (crank.meanVolts === null) return null;
    const { value, samples } = crank.meanVolts;
    const range = crankVoltRange(context, crank);
    const lowest =
      crank.lowestVolts === null ? "" : ` Lowest reading ${crank.lowestVolts.value.toFixed(2)} V.`;
    return {
      ...judge(value, range, samples >= 3 ? 0.1 : samples === 2 ? 0.4 : Number.POSITIVE_INFINITY),
      value,
      samples,
      unit: "V",
      what: "mean volts under the starter",
      range,
      channels: [crank.voltsFrom ?? "module-voltage", "engine-speed"],
      note: `${samples === 1 ? oneReading : ""}${lowest}`.trim(),
    };
  });
  return [...rest, ...cranking];
}

function crankVoltRange(context: Context, crank: Crank): HeldRange {
  const range = context.ranges.figure("crank-voltage");
  if (range.replaced) return range;
  const celsius = crank.intakeAir?.value ?? crank.coolant?.value ?? 20;
  return scaled({ ...range, low: round(leastCrankVolts(celsius), 2) }, crank.restVolts);
}

const unknownFuel =
  "A diesel has another range, and the fuel is not known. Needs the fuel in the vehicle's facts, or parameter 51.";

/** The range by the fuel; both where it is not known. */
function speedRanges({ ranges, profile }: Context): [HeldRange, ...HeldRange[]] {
  const petrol = ranges.figure("crank-speed");
  const diesel = ranges.figure("crank-speed-diesel");
  const fuel = profile.fuel.value;
  if (fuel === null || fuel === "other") return [petrol, diesel];
  return [fuel === "diesel" ? diesel : petrol];
}

function speed(context: Context): Sign[] {
  const ranges = speedRanges(context);
  const range = ranges[0];
  const slow = (crank: Crank): Found | null => {
    if (crank.speed === null) return null;
    const { value, samples } = crank.speed;
    const found = judge(value, range, samples >= 4 ? 5 : 20);
    const unsure = ranges.some((r) => judge(value, r, samples >= 4 ? 5 : 20).verdict !== found.verdict);
    // Fast alone can be an engine that fires now and then; with little pull-down it is a sign of its own.
    const fast = found.verdict === "outside" && found.side === "high";
    // One reading lies anywhere between standing still and firing.
    const alone = samples === 1 && found.verdict !== "within";
    return {
      side: found.side,
      verdict: alone || unsure ? "cannot-tell" : fast ? "near" : found.verdict,
      value,
      samples,
      unit: "rpm",
      what: "median cranking speed",
      range,
      channels: ["engine-speed", crank.voltsFrom ?? "module-voltage"],
      note: samples === 1 ? oneReading : unsure ? unknownFuel : undefined,
    };
  };
  /** The supply holds, so it is not what makes it slow. */
  const holds = (crank: Crank): boolean =>
    crank.meanVolts !== null &&
    crank.meanVolts.samples >= 2 &&
    crank.meanVolts.value > (crankVoltRange(context, crank).low ?? 0) + 0.4;
  const unseen = new Map(
    context.cranks
      .filter(({ outcome }) => outcome === "turned-without-signal")
      .map((crank) => [crank, lookUnseen(context, crank)] as const),
  );
  const signs = [
    ...overCranks("crank.speed", context, (crank) => {
      const f = slow(crank);
      return f === null || (f.verdict === "outside" && f.side === "low" && holds(crank)) ? null : f;
    }),
    ...overCranks("crank.drag", context, (crank) => {
      const f = slow(crank);
      return f?.verdict === "outside" && f.side === "low" && holds(crank) ? f : null;
    }),
    ...overCranks("crank.no-speed", context, (crank) => {
      const seen = unseen.get(crank);
      if (seen === undefined) return null;
      return { ...sagFound(crank), ...(turned(seen) ? { excluded: heldBack } : {}) };
    }),
    ...overCranks("crank.turns-unseen", context, (crank) => {
      const seen = unseen.get(crank);
      return seen === undefined ? null : unseenFound(crank, seen);
    }),
    ...overCranks("crank.no-turn", context, (crank) =>
      crank.outcome === "no-turn" ? sagFound(crank) : stalledFound(crank),
    ),
    ...overCranks("crank.nothing", context, (crank) =>
      crank.outcome === "nothing-happened" ? sagFound(crank) : null,
    ),
    ...overCranks("crank.drop-outs", context, (crank) => {
      // A starter that is held stands still and draws the most: no fault of the signal.
      if (crank.dropOuts === null || crank.lengthS < 0.5 || isStalled(crank)) return null;
      const { value, samples } = crank.dropOuts;
      if (samples / crank.lengthS < 4 || samples < 6) return null;
      // An engine that hardly turns does stand still between two compressions.
      if (crank.speed === null || crank.speed.value < (range.low ?? 0)) return null;
      return {
        verdict: value >= 3 ? "outside" : value === 2 ? "near" : "within",
        value,
        samples,
        unit: "count",
        what: "readings of zero between readings of speed",
        channels: ["engine-speed", crank.voltsFrom ?? "module-voltage"],
      };
    }),
  ];
  const silent = context.cranks.every((c) => c.speed === null && c.outcome !== "turned-without-signal");
  if (silent && signs.length === 0) signs.push(makeSign("crank.speed", { verdict: "cannot-tell", range }));
  return signs;
}

const isStalled = (crank: Crank): boolean => crank.stalledVolts !== undefined && crank.stalledVolts !== null;

/** It turned and then stood still, with the starter pulling harder than before. */
function stalledFound(crank: Crank): Found | null {
  const { stalledVolts: stalled } = crank;
  if (stalled === undefined || stalled === null) return null;
  return {
    verdict: "outside",
    value: stalled.value,
    unit: "V",
    what: "flat volts while it stood still under the starter, lower than while it turned",
    samples: stalled.samples,
    channels: [crank.voltsFrom ?? "socket-voltage", "engine-speed"],
    note: "It turned, and stalled under load: battery, cables, starter, or what it has to turn.",
  };
}

function sagFound(crank: Crank): Found {
  const fall =
    crank.restVolts === null || crank.lowestVolts === null
      ? null
      : crank.restVolts.value - crank.lowestVolts.value;
  return {
    verdict: "outside",
    value: fall ?? crank.lengthS,
    unit: fall === null ? "s" : "V",
    what: fall === null ? "starter on without speed" : "fall of the voltage without speed",
    samples: crank.lowestVolts?.samples ?? 0,
    channels: [crank.voltsFrom ?? "socket-voltage", "engine-speed", "manifold"],
  };
}

function breathing(context: Context): Sign[] {
  return [
    ...overCranks("crank.no-compression", context, (crank) => {
      if (crank.speed === null || crank.pullDown === null) return null;
      if (crank.speed.samples < 3 || crank.pullDown.samples < 3) return null;
      const fast = crank.speed.value;
      const pull = crank.pullDown.value;
      if (fast < 250 || pull >= 6.8) return null;
      return {
        verdict: fast > 265 && pull < 4 ? "outside" : "near",
        value: pull,
        unit: "kPa",
        what: `pull-down at ${fast.toFixed(0)} rpm`,
        samples: crank.pullDown.samples,
        range: context.ranges.figure("crank-pull-down"),
        channels: ["engine-speed", "manifold", crank.voltsFrom ?? "module-voltage"],
      };
    }),
    ...overCranks("crank.pull-down", context, (crank) => {
      if (crank.pullDown === null || crank.outcome === "no-turn") return null;
      // An engine that turns slowly draws little: that is no sign of its own.
      const usual = context.ranges.figure("crank-speed").low ?? 0;
      if (crank.speed !== null && crank.speed.value < usual) return null;
      const { value, samples } = crank.pullDown;
      const range = context.ranges.figure("crank-pull-down");
      const few = samples < 3 || crank.lengthS < shortCrankS;
      const found = judge(value, range, 1);
      const shut = crank.throttle !== null && crank.throttle.value < 25;
      return {
        side: found.side,
        verdict: few && found.verdict !== "within" ? "cannot-tell" : found.verdict,
        value,
        samples,
        unit: "kPa",
        what: "manifold below the outside air",
        range,
        channels: ["manifold", "barometric", "engine-speed"],
        note: few ? "Too short, or read too seldom: the manifold is not pumped down yet." : undefined,
        ...(shut ? { excluded: ["throttle-open"] as const } : {}),
      };
    }),
    ...overCranks("crank.throttle-open", context, (crank) => {
      if (crank.throttle === null || crank.unseen) return null;
      const { value, samples } = crank.throttle;
      const range = context.ranges.figure("crank-throttle");
      return {
        ...judge(value, range, samples >= 2 ? 0 : Number.POSITIVE_INFINITY),
        value,
        samples,
        unit: "%",
        what: "throttle while cranking",
        range,
        channels: ["throttle", "engine-speed"],
      };
    }),
  ];
}

/** Shorter than this says nothing, seconds. */
const shortestInVainS = 2;

/** Seconds that it turned without firing, up to this attempt and since it last fired. */
function turnedInVain(cranks: readonly Crank[], crank: Crank): number {
  let seconds = 0;
  for (const c of cranks.slice(0, cranks.indexOf(crank) + 1)) {
    if (c.ranS !== null) seconds = 0;
    else if (c.outcome === "turned-and-did-not-fire") seconds += c.lengthS;
  }
  return round(seconds, 3);
}

function course(context: Context): Sign[] {
  const died = context.cranks.filter((c) => c.outcome === "fired-and-died").length;
  const lastStart = context.cranks.findLast((c) => c.outcome === "started")?.number ?? 0;
  return [
    ...overCranks("crank.no-fire", context, (crank) => {
      if (crank.outcome !== "turned-and-did-not-fire") return null;
      const range = context.ranges.figure("time-in-vain");
      const turned = turnedInVain(context.cranks, crank);
      if (turned < shortestInVainS) return null;
      const several = turned > crank.lengthS;
      return {
        verdict: judge(turned, range).verdict === "outside" ? "outside" : "near",
        value: turned,
        unit: "s",
        what: several ? "turned without firing, this crank and those before it" : "turned without firing",
        range,
        samples: crank.speed?.samples ?? 0,
        channels: ["engine-speed", "manifold", "fuel-system-1"],
        ...(crank.pullDown !== null && crank.pullDown.samples >= 3 && crank.pullDown.value > 9
          ? { excluded: ["timing-slipped", "compression-all"] as const }
          : {}),
      };
    }),
    ...overCranks("crank.dies", context, (crank) => {
      if (crank.outcome !== "fired-and-died" || crank.ranS === null) return null;
      return {
        // One that died and was then started can have been a clumsy clutch.
        verdict: died >= 2 || crank.number > lastStart ? "outside" : "near",
        value: crank.ranS,
        unit: "s",
        what: "ran after firing",
        samples: died,
        channels: ["engine-speed", "manifold", "module-voltage"],
      };
    }),
    ...overCranks("crank.time-to-fire", context, (crank) => {
      if (crank.fireS === null || crank.unseen) return null;
      const range = context.ranges.figure("time-to-fire");
      return {
        ...judge(crank.fireS.value, range, crank.fireWithinS ?? 0),
        value: crank.fireS.value,
        unit: "s",
        what: `from the starter to running, within ${(crank.fireWithinS ?? 0).toFixed(1)} s`,
        samples: crank.fireS.samples,
        range,
        channels: ["engine-speed", crank.voltsFrom ?? "module-voltage"],
      };
    }),
  ];
}
