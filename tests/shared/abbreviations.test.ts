import { expect, test } from "vitest";
import { abbreviationOf, searchWords } from "../../shared/abbreviations.ts";
import { parameterByPid } from "../../shared/parameters.ts";

test.each([
  ["engine-speed", "RPM"],
  ["manifold", "MAP"],
  ["air-flow", "MAF"],
  ["air-flow-b", "MAF B"],
  ["coolant", "ECT"],
  ["intake-air", "IAT"],
  ["trim-short-b1", "STFT B1"],
  ["trim-long-b2", "LTFT B2"],
  ["oxygen-b1s1", "O2 B1S1"],
  ["barometric", "BARO"],
  ["pedal-d", "APP D"],
])("%s is %s to the trade", (channel, words) => {
  expect(abbreviationOf(channel)).toBe(words);
});

test("no two channels of one module's usual parameters have the same abbreviation; what has none says so", () => {
  const channels = [...parameterByPid.values()].flatMap((row) => row.values.map((v) => v.channel));
  const usual = channels.filter((c) => !/^(?:rail|lambda)-/.test(c));
  const named = usual.flatMap((c) => abbreviationOf(c) ?? []);
  expect(new Set(named).size).toBe(new Set(usual.filter((c) => abbreviationOf(c) !== null)).size);
  expect(named.length).toBeGreaterThan(60);
  expect(named.join("\n")).not.toMatch(/\$|undefined| $/m);
  expect(abbreviationOf("gear-ratio")).toBeNull();
});

test("what many say finds it too", () => {
  expect(searchWords("throttle")).toContain("TPS");
  expect(searchWords("monitors")).toMatch(/DTC.*MIL|MIL.*DTC/);
});
