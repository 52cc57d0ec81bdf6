/** Tests that modules make by themselves (services 05 and 06): which monitor failed, and by how much. */
import { foldSurvey, type TestResult } from "../../../shared/survey.ts";
import type { Source } from "../folds/source.ts";
import { isCan, type FoundCode } from "./codes.ts";
import type { Sign } from "../report/schema.ts";
import { makeSign } from "../report/sign.ts";
import type { SignId } from "../tables/signs.ts";

/** Monitors by their names in `shared/monitorTests.ts`; misfire has signs of its own, and a catalyst is no cause here. */
const monitors: readonly { readonly sign: SignId; readonly monitor: RegExp; readonly codes: RegExp }[] = [
  { sign: "sensor.oxygen-monitor", monitor: /^oxygen sensor bank (\d) sensor 1$/, codes: /^P01[3-6]/ },
  {
    sign: "sensor.heater-monitor",
    monitor: /^oxygen sensor heater bank (\d) sensor \d$/,
    codes: /^P0(?:0[3-6]|1[3-6])/,
  },
  { sign: "crank.timing-monitor", monitor: /^valve timing bank (\d)$/, codes: /^P00[12]/ },
  { sign: "mixture.recirculation-monitor", monitor: /^exhaust gas recirculation bank (\d)$/, codes: /^P040/ },
  { sign: "mixture.purge-monitor", monitor: /^purge flow$/, codes: /^P04(?:4|9)/ },
  { sign: "mixture.fuel-monitor", monitor: /^fuel system bank (\d)$/, codes: /^P017/ },
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

/** Before CAN a test that has not run is told as zeros, its limits too. */
const ran = ({ run, passed, value, low, high }: TestResult): boolean =>
  run && passed !== null && !(value === 0 && low === 0 && high === 0);

/**
 * A test that failed and stored no code is near at most: the module itself waits for the next drive before it believes it
 * (two trips; common practice).
 */
export function monitorSigns(source: Source, codes: readonly FoundCode[]): Sign[] {
  const told = source.answers.filter((a) => a.data[0] === 0x46 || a.data[0] === 0x45);
  const last = told.at(-1);
  if (last === undefined) return [];
  const byPlace = new Map<string, { sign: SignId; bank: number | null; name: string; tests: TestResult[] }>();
  for (const { tests } of foldSurvey(told, isCan(source), null).modules) {
    // Not run since the codes were cleared, or without limits: it says nothing.
    for (const test of tests.filter(ran)) {
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
    const own = monitors.find((m) => m.sign === sign)?.codes;
    const believed = codes.some((c) => own?.test(c.code) === true);
    return makeSign(sign, {
      verdict: failed.length === 0 ? "within" : believed ? "outside" : "near",
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
