/**
 * Every limit of the trade's ranges, kept beside the table in `limits.txt` with its source; one value either side of each,
 * as it is kept, is judged. Whoever moves a limit on purpose says in the source why, and makes its line anew
 * (`npx vitest run tests/interpret/limits.test.ts -u`).
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { figures, ranges, type Figure, type Regime } from "../../shared/ranges.ts";
import { VehicleRanges } from "../../src/interpret/index.ts";
import { judge } from "../../src/interpret/report/sign.ts";

const file = join(import.meta.dirname, "limits.txt");
/** Of the kind that each range holds for. */
const general = new VehicleRanges({ fuel: "petrol", throttled: true, supplyVolts: 12 });

test("every range and figure stands beside the table with its source, and no other", async () => {
  const lines = [
    ...ranges.map((r) => `${r.channel} ${r.regime}: ${r.low} to ${r.high} [${r.kind}] (${r.source})`),
    ...figures.map(
      (f) => `${f.of}: ${f.low ?? "-"} to ${f.high ?? "-"} ${f.unit}, near by ${f.margin} (${f.source})`,
    ),
  ];
  await expect(`${lines.join("\n")}\n`).toMatchFileSnapshot(file);
});

const kept = readFileSync(file, "utf8").trim().split("\n");
const edge = (text = ""): number | null => (text === "-" ? null : Number(text));

function sides(limit: number, step: number, verdict: (value: number) => string): string {
  return `${verdict(limit - step)} ${verdict(limit + step)}`;
}

test("one value either side of each range", () => {
  const rows = kept.flatMap((line) => /^(\S+) (\S+): (\S+) to (\S+) \[/.exec(line)?.slice(1) ?? []);
  expect(rows.length).toBe(4 * ranges.length);
  for (let i = 0; i < rows.length; i += 4) {
    const [channel = "", regime = "", low, high] = rows.slice(i, i + 4);
    // A row for any regime holds where no other does.
    const band = general.channel(channel, (regime === "any" ? "silent" : regime) as Regime);
    const range = { low: band?.low ?? null, high: band?.high ?? null, margin: 0 };
    const verdict = (value: number): string => judge(value, range).verdict;
    const step = ((edge(high) ?? 0) - (edge(low) ?? 0)) * 1e-6;
    expect([channel, regime, sides(Number(low), step, verdict)]).toEqual([channel, regime, "outside within"]);
    expect([channel, regime, sides(Number(high), step, verdict)]).toEqual([
      channel,
      regime,
      "within outside",
    ]);
  }
});

test("one value either side of each figure's limit, and of where it is near", () => {
  let count = 0;
  for (const line of kept) {
    const [, of, from, to, near] = /^(\S+): (\S+) to (\S+) .*, near by (\S+) \(/.exec(line) ?? [];
    if (of === undefined) continue;
    count += 1;
    const range = general.figure(of as Figure);
    const verdict = (value: number): string => judge(value, range).verdict;
    const [low, high, margin] = [edge(from), edge(to), Number(near)];
    const step = margin * 1e-6;
    if (low !== null) {
      expect([of, sides(low, step, verdict)]).toEqual([of, "outside near"]);
      expect([of, sides(low + margin, step, verdict)]).toEqual([of, "near within"]);
    }
    if (high !== null) {
      expect([of, sides(high, step, verdict)]).toEqual([of, "near outside"]);
      expect([of, sides(high - margin, step, verdict)]).toEqual([of, "within near"]);
    }
  }
  expect(count).toBe(figures.length);
});
