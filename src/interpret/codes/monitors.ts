/** Tests that modules make by themselves (services 05 and 06): which monitor failed, and by how much. */
import { foldSurvey, type TestResult } from "../../../shared/survey.ts";
import type { Source } from "../folds/source.ts";
import { isCan } from "./codes.ts";
import type { Sign } from "../report/schema.ts";
import { makeSign } from "../report/sign.ts";
import type { SignId } from "../tables/signs.ts";

/** Monitors by their names in `shared/monitorTests.ts`; misfire has signs of its own, and a catalyst is no cause here. */
const monitors: readonly { readonly sign: SignId; readonly monitor: RegExp }[] = [
  { sign: "sensor.oxygen-monitor", monitor: /^oxygen sensor bank (\d) sensor 1$/ },
  { sign: "sensor.heater-monitor", monitor: /^oxygen sensor heater bank (\d) sensor \d$/ },
  { sign: "crank.timing-monitor", monitor: /^valve timing bank (\d)$/ },
  { sign: "mixture.recirculation-monitor", monitor: /^exhaust gas recirculation bank (\d)$/ },
  { sign: "mixture.purge-monitor", monitor: /^purge flow$/ },
  { sign: "mixture.fuel-monitor", monitor: /^fuel system bank (\d)$/ },
];

/** How far a result lies beyond the limit that it missed; 0 where it passed. */
function missedBy({ value, low, high }: TestResult): number {
  return Math.max(0, (low ?? Number.NEGATIVE_INFINITY) - value, value - (high ?? Number.POSITIVE_INFINITY));
}

/** "threshold rich to lean 0.31 s, 0.1 s beyond 0 to 0.21 s". */
function words(test: TestResult): string {
  const unit = test.unit === "" || test.unit === "raw" ? "" : ` ${test.unit}`;
  const short = (n: number): string => String(Number(n.toPrecision(4)));
  const limits =
    test.low === null
      ? `up to ${test.high === null ? "any" : short(test.high)}`
      : test.high === null
        ? `from ${short(test.low)}`
        : `${short(test.low)} to ${short(test.high)}`;
  const beyond = missedBy(test);
  const missed = beyond > 0 ? `, ${short(beyond)}${unit} beyond` : ", within";
  return `${test.test} ${short(test.value)}${unit}${missed} ${limits}${unit}`;
}

export function monitorSigns(source: Source): Sign[] {
  const told = source.answers.filter((a) => a.data[0] === 0x46 || a.data[0] === 0x45);
  const last = told.at(-1);
  if (last === undefined) return [];
  const byPlace = new Map<string, { sign: SignId; bank: number | null; name: string; tests: TestResult[] }>();
  for (const { tests } of foldSurvey(told, isCan(source), null).modules) {
    // Not run since the codes were cleared, or without limits: it says nothing.
    for (const test of tests.filter((t) => t.run && t.passed !== null)) {
      for (const { sign, monitor } of monitors) {
        const match = monitor.exec(test.monitor);
        if (match === null) continue;
        const bank = match[1] === undefined ? null : Number(match[1]);
        const key = `${sign}/${test.monitor}`;
        const place = byPlace.get(key) ?? { sign, bank, name: test.monitor, tests: [] };
        place.tests.push(test);
        byPlace.set(key, place);
      }
    }
  }
  return [...byPlace.values()].map(({ sign, bank, name, tests }) => {
    const failed = tests.filter((t) => t.passed === false);
    return makeSign(sign, {
      verdict: failed.length > 0 ? "outside" : "within",
      of: name,
      windows: [{ from: last.t, to: last.t }],
      ...(bank === null ? {} : { bank }),
      measured: {
        value: null,
        unit: "count",
        what: `${name}: ${(failed.length > 0 ? failed : tests).slice(0, 3).map(words).join("; ")}`,
        samples: tests.length,
        rate: null,
      },
    });
  });
}
