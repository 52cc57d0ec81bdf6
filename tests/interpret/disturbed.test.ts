/** What an act that a person marked caused is no evidence: while it lasts and for half a minute behind it, live as in replay. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { MarkEvent, RecordingEvent } from "../../shared/recording/format.ts";
import { Disturbed } from "../../src/interpret/folds/disturbed.ts";
import { interpret, Interpreter, type Findings } from "../../src/interpret/index.ts";
import { disturbable, disturbs } from "../../src/interpret/tables/disturbs.ts";
import { Reading } from "../../src/reading/index.ts";
import {
  but,
  crank,
  eventsOf,
  findingsOf,
  gaussian,
  idle,
  keyOn,
  script,
  signsOf,
  type Stretch,
} from "./scenes.ts";
import { misfireCount } from "./support.ts";

const trims = (seconds: number, short: (s: number) => number): Stretch => {
  const noise = gaussian(7);
  return but(idle(seconds), {
    "trim-short-b1": (s) => Math.round((short(s) + 2 * noise()) / 0.78125) * 0.78125,
    "trim-long-b1": () => 0,
    "fuel-system-1": () => 2,
  });
};
/** Sound but for 36 to 110 s of the recording, where fuel is added and the trims take it away again for a while. */
const act = { at: 36_000, until: 90_000, label: "propane at the intake" };
const rich = [keyOn(5), crank(1), trims(180, (s) => (s >= 30 && s < 108 ? -20 : 0))];
const verdicts = (f: Findings): string[] =>
  ["mixture.rich", "mixture.trims"].flatMap((id) => signsOf(f, id).map((s) => `${id} ${s.verdict}`));

describe("the trims of added fuel", () => {
  test("unmarked they are rich; marked they are the act's", () => {
    expect(verdicts(findingsOf(rich, 4))).toContain("mixture.rich near");
    expect(verdicts(findingsOf(rich, 4, { marks: [act] }))).toEqual(["mixture.trims within"]);
  });

  test("a label that names no act disturbs nothing", () => {
    expect(verdicts(findingsOf(rich, 4, { marks: [{ ...act, label: "radio on" }] }))).toContain(
      "mixture.rich near",
    );
  });

  test("half a minute behind its end counts again", () => {
    const later = [keyOn(5), crank(1), trims(240, (s) => (s >= 130 ? -20 : 0))];
    const found = findingsOf(later, 4, { marks: [{ ...act, until: 60_000 }] });
    expect(verdicts(found)).toContain("mixture.rich near");
  });
});

test("a mark that is set, named and ended behind its time ends in what a replay says", () => {
  const { samples } = script(rich, 4);
  const events = eventsOf(samples);
  const mark = (t: number, parts: Partial<MarkEvent>): RecordingEvent => ({
    ...{ k: "mark", t, id: "m1", at: act.at, label: "" },
    ...parts,
  });
  const marks = [
    mark(36_500, {}),
    mark(41_000, { label: act.label }),
    mark(90_200, { label: act.label, until: act.until }),
  ];
  const all = [...events, ...marks].sort((a, b) => a.t - b.t);
  const live = new Reading("live");
  const interpreter = new Interpreter(live);
  let said = "";
  for (const event of all) {
    live.event(event);
    if (Math.floor(event.t / 3000) === Math.floor((live.lastTime - 1) / 3000)) continue;
    interpreter.advance();
    said = verdicts(interpreter.findings()).join();
  }
  interpreter.advance();
  interpreter.finish();
  const replay = new Reading("replay");
  for (const event of all) replay.event(event);
  expect(interpreter.findings()).toEqual(interpret(replay));
  expect(said).toContain("mixture.trims");
});

test("an engine that the act stalls has not stalled by itself", () => {
  const stalled = [keyOn(5), crank(1), idle(60), keyOn(30)];
  const verdict = (marks: readonly { at: number; until: number; label: string }[]): string | undefined =>
    signsOf(findingsOf(stalled, 5, { marks }), "crank.stall")[0]?.verdict;
  expect(verdict([])).toBe("outside");
  expect(verdict([{ at: 60_000, until: 67_000, label: "fuel added" }])).toBe("within");
  expect(verdict([{ at: 20_000, until: 25_000, label: "fuel added" }])).toBe("outside");
});

test("misfires of an unplugged cylinder are not counted as the engine's", () => {
  const protocol: RecordingEvent = { k: "link", t: 0, state: "protocol", protocol: "can11-500" };
  const counts = (t: number, third: number): RecordingEvent[] =>
    [1, 2, 3, 4].flatMap((n) => misfireCount(t + n * 100, n, n === 3 ? third : 0));
  const read = (label: string): Findings =>
    findingsOf([keyOn(5), crank(1), idle(300)], 5, {
      vehicle: { cylinders: 4 },
      marks: [{ at: 60_000, until: 90_000, label }],
      events: [protocol, ...counts(20_000, 0), ...counts(140_000, 160), ...counts(280_000, 160)],
    });
  const named = (f: Findings): string[] =>
    signsOf(f, "misfire.counts").map((s) => `${s.cylinder ?? "engine"} ${s.verdict}`);
  expect(named(read("radio on"))).toContain("3 outside");
  expect(named(read("cylinder 3 unplugged"))).toEqual(["engine within"]);
});

test("whatever the marks: what lies before is untouched, and a span ends as its row says", () => {
  const labels = [
    "fuel added",
    "cylinder 2 unplugged",
    "radio on",
    "jump leads on",
    "wiggled: module's plug",
  ];
  fc.assert(
    fc.property(
      fc.array(
        fc.record({
          at: fc.integer({ min: 1000, max: 100_000 }),
          length: fc.option(fc.integer({ min: 0, max: 60_000 })),
          label: fc.constantFrom(...labels),
        }),
        { maxLength: 5 },
      ),
      fc.integer({ min: 0, max: 250_000 }),
      (drawn, t) => {
        const marks = drawn.map(({ at, length, label }, i): MarkEvent => ({
          ...{ k: "mark", t: at, id: `m${i}`, at, label },
          ...(length === null ? {} : { until: at + length }),
        }));
        const disturbed = new Disturbed(marks);
        for (const what of disturbable) {
          const wanted = marks.some(({ at, until = at, label }) => {
            const row = disturbs.find((r) => r.label.test(label));
            if (row?.disturbs.includes(what) !== true) return false;
            return t >= at - 500 && t < until + row.seconds * 1000;
          });
          expect(disturbed.at(t, what)).toBe(wanted);
        }
        expect(disturbed.sameBefore(t, new Disturbed(marks.filter(({ at }) => at - 500 < t)))).toBe(true);
        expect(disturbed.sameBefore(500, new Disturbed([]))).toBe(true);
      },
    ),
  );
});

test("each act of the table is named by labels a person would write, and has its source", () => {
  const said = [
    ...["propane at the intake", "fuel added", "intake sealed", "vacuum hose off", "purge line clamped"],
    ...["EGR blocked", "cylinder 3 unplugged", "plug pulled", "coil 2 unplugged", "coil moved to cylinder 3"],
    ...["coils of 1 and 2 changed for each other", "MAF unplugged", "exhaust opened", "jump leads on"],
    "wiggled: crank sensor's plug",
  ];
  for (const label of said)
    expect([label, new Disturbed([{ k: "mark", t: 0, id: "a", at: 0, label }]).none]).toEqual([label, false]);
  for (const label of ["radio on", "brake pedal", "fuel gauge reads half", "harness looked at", "cylinder 3"])
    expect([label, new Disturbed([{ k: "mark", t: 0, id: "a", at: 0, label }]).none]).toEqual([label, true]);
  for (const row of disturbs) expect(row.source, row.act).toMatch(/common practice/);
});
