/** What the supply under the starter says: of relative compression, and that the engine turned though no speed was seen. */
import { socketVoltage } from "../../../shared/decode.ts";
import { capital } from "../../../shared/letters.ts";
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import { between, ownSeries } from "../folds/windows.ts";
import type { Figure } from "../../../shared/ranges.ts";
import type { Crank, Sign, Verdict } from "../report/schema.ts";
import { judge, makeSign, type SignParts } from "../report/sign.ts";
import type { Found } from "./attempts.ts";
import { crankLimits } from "./cranks.ts";
import type { Strength, StrengthFigure } from "./cylinders.ts";
import { rippleOf, strengthAttempts, type Ripple } from "./strengthIn.ts";

/** What stands still cannot be turned: neither is it. */
export const heldBack = ["starter-worn", "engine-tight"] as const;

/** The starter's first half second, and its last instants, milliseconds. */
const inrush = { firstMs: 500, lastMs: 100 } as const;

/** What shows that it turned although no speed was seen. */
export interface Unseen {
  readonly ripple: Ripple | null;
  /** kPa, where the manifold was drawn down. */
  readonly pull: number | null;
  readonly readings: number;
}

/** It did turn. */
export const turned = ({ ripple, pull }: Unseen): boolean => ripple !== null || pull !== null;

export function lookUnseen({ source }: Context, crank: Crank): Unseen {
  const volts = [...new Set([socketVoltage, crank.voltsFrom ?? socketVoltage])].map((channel) =>
    between(ownSeries(source.channels, channel), crank.from + inrush.firstMs, crank.to - inrush.lastMs),
  );
  const { pullDown } = crank;
  const drawn = pullDown !== null && pullDown.samples >= 2 && pullDown.value >= crankLimits.turningPullDown;
  return {
    ripple: volts.map(rippleOf).find((ripple) => ripple !== null) ?? null,
    pull: drawn ? pullDown.value : null,
    readings: Math.max(...volts.map(({ values }) => values.length)),
  };
}

/** Only compressions make the supply ripple, and only a turning engine draws the manifold down. */
export function unseenFound(crank: Crank, { ripple, pull, readings }: Unseen): Found {
  const channels = [crank.voltsFrom ?? socketVoltage, "engine-speed", "manifold"];
  if (ripple === null && pull === null)
    return {
      verdict: "cannot-tell",
      value: 0,
      unit: "V",
      what: "ripple of the supply under the starter",
      samples: readings,
      channels,
      note: "No ripple was found, and no pull-down: it may stand still, or the voltage is read too seldom or too coarsely.",
    };
  const notes = [
    ripple === null
      ? ""
      : `The supply ripples ${ripple.hertz.toFixed(1)} times a second by ${ripple.volts.toFixed(2)} V: the engine did turn.`,
    pull === null ? "" : `Manifold pressure fell by ${pull.toFixed(0)} kPa: the engine did turn.`,
  ];
  return {
    verdict: "outside",
    value: ripple?.volts ?? pull ?? 0,
    unit: ripple === null ? "kPa" : "V",
    what: ripple === null ? "pull-down without a speed" : "ripple of the supply without a speed",
    samples: ripple === null ? (crank.pullDown?.samples ?? 0) : readings,
    channels,
    note: notes.filter((words) => words !== "").join(" "),
  };
}

/** Signs of relative compression, where there is a crank that turned and did not fire. */
export function strengthSigns(context: Context, strength: Strength | null): Sign[] {
  const cranks = strengthAttempts(context.cranks);
  if (cranks.length === 0) return [];
  const shared = {
    windows: cranks.map(({ from, to }) => ({ from, to })),
    channels: [socketVoltage, "engine-speed"],
  };
  if (strength === null) {
    const note =
      context.ranges.facts.cylinders === 1
        ? "One cylinder: there is no other to compare it with."
        : "Enter the number of cylinders in the vehicle's facts.";
    return [
      makeSign("crank.cylinder-weak", { verdict: "cannot-tell", note }),
      makeSign("crank.all-weak", { verdict: "cannot-tell", note }),
    ];
  }
  return [
    makeSign("crank.cylinder-weak", { ...shared, ...oneWeak(context, strength) }),
    makeSign("crank.all-weak", { ...shared, ...allWeak(context, strength) }),
  ];
}

const differ = "The cylinders differ: the figure of all together says little then.";
const unsettled = "The cranks do not agree: crank again, four seconds or longer.";

function oneWeak(context: Context, strength: Strength): SignParts {
  const { verdict, uneven, why } = strength;
  if (uneven === null) return { verdict: "cannot-tell", note: capital(`${why}.`) };
  const parts = measured(context, { id: "cylinders-unlike", figure: uneven, strength });
  if (verdict === "one-weak") return { ...parts, verdict: atLeastNear(context, "cylinders-unlike", uneven) };
  const range = context.ranges.figure("cylinders-unlike");
  const edge = (range.high ?? 0) - range.margin;
  if (uneven.value < edge) return { ...parts, verdict: "within" };
  return { ...parts, verdict: "cannot-tell", note: why === "" ? unsettled : capital(`${why}.`) };
}

function allWeak(context: Context, strength: Strength): SignParts {
  const { verdict, firing, why, uneven } = strength;
  if (firing === null) return { verdict: "cannot-tell", note: capital(`${why}.`) };
  const parts = measured(context, { id: "crank-compression", figure: firing, strength });
  if (verdict === "all-weak") return { ...parts, verdict: atLeastNear(context, "crank-compression", firing) };
  const range = context.ranges.figure("crank-compression");
  if (firing.value >= (range.low ?? 0) + range.margin) return { ...parts, verdict: "within" };
  // Null: the readings are too coarse to see whether the cylinders differ.
  const note = verdict === "one-weak" ? differ : uneven === null ? capital(`${why}.`) : unsettled;
  return { ...parts, verdict: "cannot-tell", note };
}

/** It is told: outside where the whole interval lies there, near the edge else. */
function atLeastNear({ ranges }: Context, id: Figure, { value, low, high }: StrengthFigure): Verdict {
  const width = id === "cylinders-unlike" ? value - low : high - value;
  return judge(value, ranges.figure(id), width).verdict === "outside" ? "outside" : "near";
}

interface Told {
  readonly id: Figure;
  readonly figure: StrengthFigure;
  readonly strength: Strength;
}

function measured(
  { ranges }: Context,
  { id, figure, strength }: Told,
): Pick<SignParts, "measured" | "range" | "note"> {
  const { value, low, high, samples } = figure;
  const what =
    id === "cylinders-unlike"
      ? "difference between the cylinders"
      : "compression of all cylinders, from the ripple of the supply";
  const turned = strength.rpm === null ? "" : ` It turned ${strength.rpm.toFixed(0)} rpm.`;
  return {
    measured: {
      value: round(value, 2),
      unit: "ratio",
      what: `${what} (${low.toFixed(2)} to ${high.toFixed(2)})`,
      samples,
      rate: round(strength.perSecond, 1),
    },
    range: ranges.figure(id),
    note: `The limit is that of bench vehicles; a gauge decides.${turned}`,
  };
}
