/** The balance of the cylinders, from marks that say which one was unplugged. */
import type { Series } from "../../../shared/channels.ts";
import type { MarkEvent } from "../../../shared/recording/format.ts";
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import { ownSeries } from "../folds/windows.ts";
import { bootstrapDifference } from "../maths/bootstrap.ts";
import { mean } from "../maths/stats.ts";
import type { Balance, Sign, Window } from "../report/schema.ts";
import { makeSign } from "../report/sign.ts";
import { changeOf, everyOnePulls, judgedBalance, type Also } from "./balance.ts";
import { compareLimits, edgeMs, pick, windowsOf, type MarkWindows } from "./compare.ts";

export const unpluggedLimits = {
  /** The mean that fell is taken of these first seconds: idle control gives it back little by little (an estimate). */
  dropMs: 8000,
  /** The first dip: an idle valve or throttle takes a second or two to give it back (common practice). */
  dipMs: 2000,
  /** Readings that a figure takes; the spread of single readings takes more than a mean of them. */
  leastReadings: compareLimits.leastReadings,
  leastForSpread: 8,
} as const;

const cylinderLabel = /\bcyl(?:inder)?\.?\s*(?:no\.?\s*)?(\d{1,2})\b/i;
const unpluggedLabel = /unplug|disconnect|pulled|\boff\b|\bout\b|\bcut\b|without/i;

/** The cylinder that a label says was unplugged, or null: "cylinder 3 unplugged". */
export function unpluggedCylinder(label: string): number | null {
  const match = cylinderLabel.exec(label);
  if (match === null || !unpluggedLabel.test(label)) return null;
  const cylinder = Number(match[1]);
  return cylinder >= 1 && cylinder <= 16 ? cylinder : null;
}

const everything: Window = { from: Number.NEGATIVE_INFINITY, to: Number.POSITIVE_INFINITY };

type Unplugged = Balance["cylinders"][number];

/** What each unplugged cylinder changed: worked out once for each mark, and kept while mark and time stay. */
export class Balances {
  readonly #kept = new Map<string, { readonly made: string; readonly found: Unplugged | null }>();

  /** From the marks within the window that say which cylinder was unplugged; null where there are none. */
  of(context: Context, within = everything): Balance | null {
    const speed = ownSeries(context.source.channels, "engine-speed");
    const marks = context.source.marks.filter((m) => m.until !== undefined);
    const drops = new Map<number, Unplugged>();
    for (const mark of marks) {
      if (mark.at < within.from || mark.at >= within.to) continue;
      const cylinder = unpluggedCylinder(mark.label);
      if (cylinder === null || speed === undefined) continue;
      const windows = windowsOf(mark, marks, context);
      if (windows === null) continue;
      const found = this.#of(mark, windows, () => unplugged(cylinder, { speed, windows, context }));
      if (found !== null) drops.set(cylinder, found);
    }
    return drops.size === 0 ? null : judgedBalance([...drops.values()]);
  }

  #of(mark: MarkEvent, windows: MarkWindows, make: () => Unplugged | null): Unplugged | null {
    const made = JSON.stringify([mark.label, windows]);
    const kept = this.#kept.get(mark.id);
    if (kept?.made === made) return kept.found;
    const found = make();
    this.#kept.set(mark.id, { made, found });
    return found;
  }
}

interface During {
  readonly speed: Series;
  readonly windows: MarkWindows;
  readonly context: Context;
}

function unplugged(cylinder: number, { speed, windows, context }: During): Unplugged | null {
  const { from, to } = windows.during;
  const during = pick(speed, [
    { from: from + Math.min(edgeMs, (to - from) / 4), to: Math.min(to, from + unpluggedLimits.dropMs) },
  ]);
  const around = pick(speed, windows.around);
  if (Math.min(during.values.length, around.values.length) < unpluggedLimits.leastReadings) return null;
  const found = bootstrapDifference(Float64Array.from(during.values), Float64Array.from(around.values), mean);
  return {
    cylinder,
    drop: round(-found.difference, 1),
    interval: { low: round(-found.high, 1), high: round(-found.low, 1), level: found.level },
    samples: during.values.length,
    also: alsoChanged(speed, windows, context),
  };
}

/** What else losing the cylinder changed. */
function alsoChanged(speed: Series, { during, around }: MarkWindows, context: Context): Also[] {
  const { from, to } = during;
  const begin = from + Math.min(edgeMs, (to - from) / 4);
  const least = unpluggedLimits.leastReadings;
  const calm = pick(speed, around);
  const dip = pick(speed, [{ from: begin, to: Math.min(to, begin + unpluggedLimits.dipMs) }]);
  const rough = pick(speed, [{ from: begin, to }]);
  const held = [{ from: Math.min(to, begin + unpluggedLimits.dipMs), to }];
  const given = (of: Also["of"], channels: readonly string[]): Also | null => {
    for (const channel of channels) {
      const series = ownSeries(context.source.channels, channel);
      if (series === undefined) continue;
      const stretch = { during: pick(series, held).values, around: pick(series, around).values };
      // One that was not read in these seconds leaves it to the next, whenever it is read elsewhere.
      const change = changeOf(of, stretch, { unit: context.source.info(channel).unit, least });
      if (change !== null) return change;
    }
    return null;
  };
  return [
    changeOf("dip", { during: dip.values, around: calm.values }, { unit: "rpm", least }),
    changeOf(
      "roughness",
      { during: rough.residuals, around: calm.residuals },
      { unit: "%", least: unpluggedLimits.leastForSpread },
    ),
    given("air", ["air-flow", "manifold", "load"]),
    given("advance", ["advance"]),
  ].filter((a) => a !== null);
}

export function balanceSign(balance: Balance | null, context: Context): Sign[] {
  if (balance === null) return [];
  const told = balance.dead !== null;
  const pulls = everyOnePulls(balance);
  const windows = context.source.marks
    .filter((m) => m.until !== undefined && unpluggedCylinder(m.label) !== null)
    .map((m) => ({ from: m.at, to: m.until ?? m.at }))
    .reverse();
  const drops = balance.cylinders.map((c) => `${c.cylinder}: ${c.drop.toFixed(0)}`).join(", ");
  const weakest = balance.cylinders.find((c) => c.cylinder === balance.dead) ?? balance.cylinders[0];
  return [
    makeSign("misfire.cylinder", {
      verdict: told ? "outside" : pulls ? "within" : "cannot-tell",
      windows: windows.slice(0, 12),
      channels: ["engine-speed"],
      ...(balance.dead === null ? {} : { cylinder: balance.dead }),
      measured: {
        value: weakest?.drop ?? null,
        unit: "rpm",
        what: `drop of speed by cylinder (${drops})`,
        samples: balance.cylinders.reduce((s, c) => s + c.samples, 0),
        rate: null,
        ...(weakest === undefined ? {} : { interval: weakest.interval }),
      },
      ...(told ? {} : { note: balance.words }),
    }),
  ];
}
