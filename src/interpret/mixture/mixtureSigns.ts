import { enumWord } from "../../../shared/enumerations.ts";
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import { deliverySigns, soundOffset } from "./delivery.ts";
import {
  enough,
  halfWidth,
  trimLimits,
  type BankSums,
  type Mixture,
  type Place,
  type PlaceSum,
} from "./mixture.ts";
import { lambdaSigns, oxygenSigns } from "./oxygenSigns.ts";
import type { HeldRange } from "../report/ranges.ts";
import type { Fit, Sign, Verdict } from "../report/schema.ts";
import { judge, makeSign, type Side, type SignParts } from "../report/sign.ts";
import type { LookAlike } from "../report/points.ts";
import type { SignId } from "../tables/signs.ts";

const behindMeter: readonly LookAlike[] = [
  "air-leak-small",
  "air-leak-large",
  "air-meter-low",
  "air-meter-high",
];

export function mixtureSigns(mixture: Mixture, context: Context): Sign[] {
  if (context.diesel)
    return [
      makeSign("mixture.trims", {
        verdict: "cannot-tell",
        note: "A diesel holds no mixture: fuel trims, loop state and lambda sensors are not judged.",
      }),
    ];
  const banks = mixture.banks.filter((b) => b.taken > 0);
  const fits = fitsOf(mixture, context);
  return [
    ...(banks.length === 0 ? [nothing(mixture, context)] : []),
    ...banks.flatMap((b) => bankSigns(b, mixture, context)),
    ...bankAgainstBank(mixture, context),
    ...fits.flatMap((f) => fitSigns(f, mixture, context)),
    ...deliverySigns(mixture, fits, context),
    ...loopSign(mixture, context),
    ...oxygenSigns(mixture),
    ...lambdaSigns(mixture, context),
    ...fuelSigns(mixture, context),
  ];
}

/** The metering that the facts name, or that the channels suggest. */
export function metering(mixture: Mixture, context: Context): "air-flow" | "manifold-pressure" | null {
  return (
    context.ranges.facts.metering ??
    (mixture.airFlowSeen ? "air-flow" : mixture.manifoldSeen ? "manifold-pressure" : null)
  );
}

export function fitsOf(mixture: Mixture, context: Context): Fit[] {
  if (context.diesel || metering(mixture, context) !== "air-flow") return [];
  return mixture.banks.flatMap((b) => b.fit() ?? []);
}

function nothing(mixture: Mixture, context: Context): Sign {
  const states = mixture.loop.n > 0 ? enumWord("fuelSystem", mixture.loop.tally.mode) : null;
  const why = context.hybrid
    ? "A hybrid stops its engine by itself; closed loop has to last for a while. "
    : states !== null
      ? `Fuel system when warm: ${states}. `
      : "";
  return makeSign("mixture.trims", {
    verdict: "cannot-tell",
    note: `${why}Needs closed loop and a warm engine, half a minute of idle or steady running with the trims asked.`,
  });
}

interface BankPlace {
  readonly place: Place;
  readonly sum: PlaceSum;
  readonly verdict: Verdict;
  readonly side: Side;
  readonly half: number;
}

function bankSigns(sums: BankSums, mixture: Mixture, context: Context): Sign[] {
  const range = context.ranges.figure("trim");
  const places = [...sums.places].map(([place, sum]): BankPlace => {
    const half = halfWidth(sum);
    return { place, sum, half, ...judge(sum.trims.mean, range, half) };
  });
  const judged = places.filter(({ sum }) => enough(sum));
  const channels = [`trim-short-b${sums.bank}`, `trim-long-b${sums.bank}`];
  if (judged.length === 0)
    return [
      makeSign("mixture.trims", {
        verdict: "cannot-tell",
        of: `b${sums.bank}`,
        bank: sums.bank,
        channels,
        range,
      }),
    ];
  const signs = judged.map(({ place, sum, verdict, side, half }) => {
    const id: SignId =
      verdict === "within" || verdict === "cannot-tell"
        ? "mixture.trims"
        : side === "high"
          ? "mixture.lean"
          : "mixture.rich";
    const { mean, effective } = sum.trims;
    return makeSign(id, {
      verdict,
      of: `b${sums.bank}/${place}`,
      bank: sums.bank,
      windows: sum.evidence.windows,
      channels,
      range,
      measured: {
        ...sum.evidence.measured(`STFT and LTFT together, bank ${sums.bank}, ${place}`, "%", mean),
        effective: round(effective, 1),
        interval: { low: round(mean - half, 2), high: round(mean + half, 2), level: 0.95 },
      },
      ...byMetering(mixture, context),
      note: assumedNote(sums, mixture, context),
    });
  });
  return [...signs, ...clippedSign(sums, channels, range)];
}

/** On manifold-pressure metering air behind the throttle is measured like any other. */
function byMetering(mixture: Mixture, context: Context): Pick<SignParts, "excluded" | "looksLike"> {
  return metering(mixture, context) === "manifold-pressure" ? { excluded: behindMeter } : {};
}

function assumedNote(sums: BankSums, mixture: Mixture, context: Context): string | undefined {
  const notes: string[] = [];
  if (!mixture.loopSeen) notes.push("Loop state was not asked: closed loop is assumed when warm.");
  if (metering(mixture, context) === "manifold-pressure")
    notes.push(
      "Metered by manifold pressure: air behind the throttle is measured, it raises the idle instead.",
    );
  const { long } = sums;
  if (long.n >= trimLimits.leastReadings && long.least === 0 && long.most === 0)
    notes.push("LTFT is 0 throughout: not learned yet, watch STFT.");
  return notes.length === 0 ? undefined : notes.join(" ");
}

function clippedSign(sums: BankSums, channels: readonly string[], range: HeldRange): Sign[] {
  if (sums.clipped < 3) return [];
  const mean = sums.clippedSum / sums.clipped;
  return [
    makeSign("mixture.clipped", {
      verdict: "outside",
      side: mean > 0 ? "high" : "low",
      of: `b${sums.bank}`,
      bank: sums.bank,
      windows: sums.clippedAt.list,
      channels,
      range,
      measured: {
        value: round(mean, 2),
        unit: "%",
        what: `mean fuel trim while STFT was at its limit, bank ${sums.bank}`,
        samples: sums.clipped,
        rate: null,
      },
    }),
  ];
}

function bankAgainstBank(mixture: Mixture, context: Context): Sign[] {
  const [one, two] = mixture.banks;
  const range = context.ranges.figure("bank-difference");
  const found = [...one.places].flatMap(([place, first]) => {
    const second = two.places.get(place);
    if (second === undefined || !enough(first) || !enough(second)) return [];
    const difference = first.trims.mean - second.trims.mean;
    const half = Math.hypot(halfWidth(first), halfWidth(second));
    return [{ place, first, difference, half, ...judge(difference, range, half) }];
  });
  const worst = found.sort((a, b) => Math.abs(b.difference) - Math.abs(a.difference))[0];
  if (worst === undefined) return [];
  const { difference, half, first } = worst;
  return [
    makeSign("mixture.banks", {
      verdict: worst.verdict,
      windows: first.evidence.windows,
      channels: ["trim-short-b1", "trim-short-b2", "trim-long-b1", "trim-long-b2"],
      range,
      measured: {
        ...first.evidence.measured(`bank 1 less bank 2, ${worst.place}`, "%", difference),
        interval: { low: round(difference - half, 2), high: round(difference + half, 2), level: 0.95 },
      },
    }),
  ];
}

function fitSigns(fit: Fit, mixture: Mixture, context: Context): Sign[] {
  const sums = mixture.banks.find((b) => b.bank === fit.bank);
  const windows = [...(sums?.places.values() ?? [])].flatMap((p) => p.evidence.windows).slice(0, 5);
  const shape = (
    id: SignId,
    part: { readonly value: number; readonly error: number },
    how: {
      readonly range: HeldRange;
      readonly scale: number;
      readonly unit: string;
      readonly what: string;
      /** One cause of it acts on both banks. */
      readonly shared?: true;
      /** Half width of what a sound engine shows by itself, beside what the readings leave open. */
      readonly sound?: number;
    },
  ): Sign => {
    const value = part.value * how.scale;
    const half = Math.hypot(1.96 * part.error * how.scale, how.sound ?? 0);
    const found = judge(value, how.range, half);
    // An interval that is much wider than the range says nothing either way.
    const vague = found.verdict !== "outside" && half > 2 * (how.range.high ?? 0);
    const alone = found.verdict === "outside" && how.shared && !onBothBanks(mixture, context, fit, id);
    return makeSign(id, {
      side: found.side,
      verdict: vague ? "cannot-tell" : alone ? "near" : found.verdict,
      ...(alone
        ? {
            looksLike: ["injectors-bank", "misfire-looks-lean"] as const,
            note: "On one bank only: what acts on both, as this does, would show on both.",
          }
        : {}),
      ...(vague ? { note: `${fit.zones} zones of air flow are too few or too scattered. ${moreZones}` } : {}),
      of: `b${fit.bank}`,
      bank: fit.bank,
      windows,
      channels: [`trim-short-b${fit.bank}`, `trim-long-b${fit.bank}`, "air-flow"],
      range: how.range,
      measured: {
        value: round(value, 3),
        unit: how.unit,
        what: `${how.what}, bank ${fit.bank}, ${fit.zones} zones from ${fit.flowFrom.toFixed(1)} to ${fit.flowTo.toFixed(1)} g/s`,
        samples: fit.readings,
        rate: null,
        interval: { low: round(value - half, 3), high: round(value + half, 3), level: 0.95 },
      },
    });
  };
  const { ranges } = context;
  return [
    shape("mixture.unmetered-air", fit.a, {
      range: ranges.figure("unmetered-air"),
      scale: 1,
      unit: "g/s",
      what: "unmetered air",
      shared: true,
    }),
    shape("mixture.metering", fit.b, {
      range: ranges.figure("metering-error"),
      scale: 100,
      unit: "%",
      what: "error at all loads",
    }),
    ...(fit.d === undefined
      ? []
      : [
          shape("mixture.delivery", fit.d, {
            range: ranges.figure("delivery-loss"),
            scale: 100,
            unit: "%",
            what: "error rising with load, at its highest",
            sound: soundOffset,
            shared: true,
          }),
        ]),
  ];
}

const moreZones = "Needs closed loop at idle and at two higher air flows, several times each.";

/** Whether the other bank, where there is one, shows at least half of the same. */
function onBothBanks(mixture: Mixture, context: Context, fit: Fit, id: SignId): boolean {
  const other = fitsOf(mixture, context).find((f) => f.bank !== fit.bank);
  if (other === undefined) return true;
  if (id === "mixture.unmetered-air") return other.a.value / fit.a.value >= 0.5;
  return fit.d === undefined || other.d === undefined || other.d.value / fit.d.value >= 0.5;
}

export const loopLimits = {
  /** Open loop because of a fault: so many readings, over this time, are no slip. */
  faultReadings: 3,
  faultSeconds: 4,
} as const;

function loopSign(mixture: Mixture, context: Context): Sign[] {
  const { loop, faulted } = mixture;
  // The module's own word needs no warm engine.
  if (faulted.n >= loopLimits.faultReadings && faulted.seconds >= loopLimits.faultSeconds)
    return [
      makeSign("mixture.loop", {
        verdict: "outside",
        windows: faulted.windows,
        channels: ["fuel-system-1", "coolant", "oxygen-b1s1"],
        measured: faulted.measured("readings of open loop because of a fault", "count", faulted.n),
        meaning: "The module reports that a fault keeps it out of closed loop.",
      }),
    ];
  if (loop.n === 0 || context.hybrid) return [];
  if (loop.n < 8 || loop.seconds < 20) return [makeSign("mixture.loop", { verdict: "cannot-tell" })];
  const closed = loop.tally.share((v) => v === 0x02 || v === 0x10);
  const fault = loop.tally.share((v) => v === 0x08 || v === 0x10);
  const words = enumWord("fuelSystem", loop.tally.mode);
  return [
    makeSign("mixture.loop", {
      verdict: closed < 0.3 || fault > 0.5 ? "outside" : closed < 0.7 || fault > 0.1 ? "near" : "within",
      windows: loop.windows,
      channels: ["fuel-system-1", "coolant", "oxygen-b1s1"],
      measured: loop.measured("share of warm steady running in closed loop", "%", closed * 100),
      note: `Most often: ${words}.`,
    }),
  ];
}

function fuelSigns(mixture: Mixture, context: Context): Sign[] {
  const signs: Sign[] = [];
  if (mixture.fuelLevel.n > 0) {
    const range = context.ranges.figure("fuel-level");
    const value = mixture.fuelLevel.tally.quantile(0.5);
    signs.push(
      makeSign("mixture.fuel-level", {
        ...judge(value, range, 1),
        windows: mixture.fuelLevel.windows.slice(0, 1),
        channels: ["fuel-level"],
        range,
        measured: mixture.fuelLevel.measured("median fuel level", "%", value),
      }),
    );
  }
  const pressure = context.ranges.facts.fuelPressureKPa;
  if (pressure !== undefined && mixture.fuelPressure.n >= 3) {
    const range: HeldRange = {
      ...pressure,
      margin: (pressure.high - pressure.low) * 0.05,
      unit: "kPa fuel",
      source: "the vehicle's facts",
      replaced: true,
    };
    const value = mixture.fuelPressure.tally.quantile(0.5);
    signs.push(
      makeSign("mixture.fuel-pressure", {
        ...judge(value, range, 3),
        windows: mixture.fuelPressure.windows,
        channels: ["fuel-pressure"],
        range,
        measured: mixture.fuelPressure.measured("median fuel pressure while running", "kPa fuel", value),
      }),
    );
  }
  return signs;
}
