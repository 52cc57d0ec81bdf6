/** A whole recording says of a moment what was told live at it. */
import { expect, test } from "vitest";
import { Cranks, replayedCrank } from "../../src/analyst/cranks.ts";
import { VehicleRanges } from "../../src/interpret/index.ts";
import { figuresLine, headline, stillOpen } from "../../src/interpret/crank/liveWords.ts";
import { Reading } from "../../src/reading/index.ts";
import { benchRecording, readText } from "../support/benchRecording.ts";

const ranges = new VehicleRanges({});
const of = (reading: Reading): Cranks => new Cranks(reading, () => ranges);

test.each([
  ["garden-van", "start-and-idle", []],
  ["old-hatch", "crank-only", [{ name: "no-crank-signal", severity: 1 }]],
] as const)(
  "%s, %s: at any moment, played forward or gone back to, the sentence is the live one",
  async (vehicle, script, faults) => {
    const text = await benchRecording({ vehicle, script, faults });
    const whole = of(readText(text));
    const lines = text.trimEnd().split("\n");
    const live = new Reading("live");
    live.push(`${lines[0] ?? ""}\n`);
    const growing = of(live);
    const told: { readonly t: number; readonly words: string }[] = [];
    const words = (cranks: Cranks, t: number, at: "told" | "toldAt"): string => {
      const one = cranks[at](t);
      if (one === null) return "nothing yet";
      const { crank, past } = one;
      return [headline(crank), stillOpen(crank) ?? "", figuresLine(crank), past.length].join(" / ");
    };
    let due = 0;
    for (const line of lines.slice(1)) {
      const before = live.lastTime;
      // What is told is asked for between lines, as the page does with each that comes.
      if (before >= due && before < (JSON.parse(line) as { t: number }).t) {
        told.push({ t: before, words: words(growing, before, "told") });
        due = before + 130;
      }
      live.push(`${line}\n`);
    }
    const kinds = new Set(told.map((one) => one.words.split(" / ")[0]));
    expect(kinds.size).toBeGreaterThan(3);
    for (const { t, words: was } of told) expect([t, words(whole, t, "toldAt")]).toEqual([t, was]);
    // Back, and to and fro.
    const some = told.filter((_, i) => i % 37 === 0);
    for (const { t, words: was } of [...some].reverse())
      expect([t, words(whole, t, "toldAt")]).toEqual([t, was]);
  },
  180_000,
);

test("it stands from the first sag until ten seconds behind the end, and not before or long behind", async () => {
  const reading = readText(await benchRecording({ vehicle: "garden-van", script: "start-and-idle" }));
  const cranks = of(reading);
  const last = cranks.toldAt(reading.lastTime)?.crank;
  if (last === undefined) throw new Error("it was cranked");
  expect(replayedCrank(cranks, last.from - 1000)).toBeNull();
  expect(replayedCrank(cranks, last.from + 400)?.crank).toMatchObject({
    number: last.number,
    provisional: true,
  });
  const end = last.to ?? last.from + 1000 * last.crankedS;
  expect(replayedCrank(cranks, end + 1000)?.crank.number).toBe(last.number);
  expect(replayedCrank(cranks, end + 60_000)).toBeNull();
}, 180_000);
