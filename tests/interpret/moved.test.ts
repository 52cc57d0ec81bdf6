import { describe, expect, test } from "vitest";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { markedResults } from "../../src/interpret/causes/marked.ts";
import { movedPart } from "../../src/interpret/running/moved.ts";
import type { Findings } from "../../src/interpret/index.ts";
import type { Move } from "../../src/interpret/report/schema.ts";
import { but, crank, findingsOf, gaussian, idle, keyOn, type Stretch } from "./scenes.ts";
import { misfireCount } from "./support.ts";

test.each([
  ["coil moved to cylinder 3", { part: "coil", back: false, cylinders: [3] }],
  ["Swapped coils 1 and 3", { part: "coil", back: false, cylinders: [1, 3] }],
  ["injector of cylinder 2 moved to cylinder 4", { part: "injector", back: false, cylinders: [2, 4] }],
  ["spark plug exchanged with cyl. 5", { part: "plug", back: false, cylinders: [5] }],
  ["coil moved back", { part: "coil", back: true, cylinders: [] }],
  ["coil moved", null],
  ["cylinder 3 unplugged", null],
  ["coil 2 looked at", null],
  ["moved the car to bay 3", null],
])("%s", (label, named) => {
  expect(movedPart(label)).toEqual(named);
});

const protocol: RecordingEvent = { k: "link", t: 0, state: "protocol", protocol: "can11-500" };
const minute = 60_000;

interface Leg {
  /** Misfires counted by cylinder over this leg's two minutes. */
  readonly misfires: readonly number[];
  /** What was done at its end. */
  readonly done?: string;
}

/** Legs of three minutes: key on, crank, idle, counters read at both ends of two minutes, engine off, the mark. */
function counted(legs: readonly Leg[]): Findings {
  const stretches: Stretch[] = [];
  const events: RecordingEvent[] = [protocol];
  const noise = gaussian(4);
  legs.forEach(({ misfires, done }, k) => {
    const from = k * 3 * minute;
    const even = but(idle(154), { "engine-speed": () => 750 + 3 * noise() });
    stretches.push(keyOn(5), crank(1), even, keyOn(20));
    misfires.forEach((n, i) => {
      events.push(...misfireCount(from + 20_000 + i * 100, i + 1, 0));
      events.push(...misfireCount(from + 140_000 + i * 100, i + 1, n));
    });
    const at = from + 170_000;
    if (done !== undefined) events.push({ k: "mark", t: at, id: `m${k}`, at, label: done });
  });
  return findingsOf(stretches, 5, { vehicle: { cylinders: 4 }, events });
}

const answers = (findings: Findings): unknown => markedResults(findings).map((m) => [m.check, m.outcome]);
const first = [150, 0, 2, 1];
const third = [1, 0, 160, 2];

describe("by the counters", () => {
  test("the misfire goes along with the coil, and comes back with it", () => {
    const findings = counted([
      { misfires: first, done: "coil moved to cylinder 3" },
      { misfires: third, done: "coil moved back" },
      { misfires: first },
    ]);
    expect(answers(findings)).toEqual([
      ["swap-coil", "moves"],
      ["coil-back", "returns"],
    ]);
    const words = markedResults(findings)[0]?.words;
    expect(words).toContain("before it cylinder 1 stood out (counters), after it cylinder 3");
  });

  test("moved back, and no cylinder stands out any more: gone, which proves nothing", () => {
    const findings = counted([
      { misfires: first, done: "coils 1 and 3 swapped" },
      { misfires: third, done: "coils put back" },
      { misfires: [0, 0, 0, 0] },
    ]);
    expect(answers(findings)).toEqual([
      ["swap-coil", "moves"],
      ["coil-back", "gone"],
    ]);
  });

  test("it stays where it was; an injector, a plug", () => {
    const stays = counted([{ misfires: first, done: "injector moved to cylinder 3" }, { misfires: first }]);
    expect(answers(stays)).toEqual([["injector-moved", "stays"]]);
    const goes = counted([{ misfires: first, done: "plugs 1 and 3 swapped" }, { misfires: third }]);
    expect(answers(goes)).toEqual([["swap-plug", "moves"]]);
  });

  test.each([
    ["nothing stood out before", [0, 0, 0, 0], third, "coil moved to cylinder 3"],
    ["it is gone after it", first, [0, 0, 0, 0], "coil moved to cylinder 3"],
    ["another cylinder stands out than the coil went to", first, [0, 140, 0, 0], "coil moved to cylinder 3"],
    ["the coils of two sound cylinders", first, first, "coils 2 and 4 swapped"],
    ["several before", [80, 0, 80, 0], third, "coil moved to cylinder 3"],
  ])("no answer: %s", (_why, before, after, done) => {
    expect(answers(counted([{ misfires: before, done }, { misfires: after }]))).toEqual([
      ["swap-coil", null],
    ]);
  });

  test("nothing was read after it: no answer, and the words say so", () => {
    const findings = counted([{ misfires: first, done: "coil moved to cylinder 3" }]);
    expect(answers(findings)).toEqual([["swap-coil", null]]);
    expect(markedResults(findings)[0]?.words).toContain("after it it is not known which cylinder stood out");
  });
});

test("without counters: cylinders unplugged in turn before it and after it", () => {
  const unplugged = (from: number): { at: number; until: number; label: string }[] =>
    [1, 2, 3, 4].map((c) => ({
      at: from + c * 20_000,
      until: from + c * 20_000 + 6000,
      label: `cylinder ${c} unplugged`,
    }));
  const later = 110_000;
  const marks = [...unplugged(0), ...unplugged(later)];
  const noise = gaussian(3);
  // Cylinder 1 does not pull before, cylinder 3 not after: without it nothing is lost.
  const speed = (s: number): number => {
    const mark = marks.find((m) => s * 1000 >= m.at && s * 1000 < m.until);
    const weak = s * 1000 < later ? 1 : 3;
    const out = mark === undefined || mark.label.includes(` ${weak} `) ? 0 : 90;
    return 700 - out + 6 * noise();
  };
  const moved: RecordingEvent = {
    ...{ k: "mark", t: 216_000, id: "moved", at: 105_000 },
    label: "coil moved to cylinder 3",
  };
  const findings = findingsOf([but(idle(216), { "engine-speed": speed })], 10, { marks, events: [moved] });
  const told: Partial<Move> = {
    before: { cylinder: 1, by: "unplugged in turn" },
    after: { cylinder: 3, by: "unplugged in turn" },
  };
  expect(findings.moves).toMatchObject([told]);
  expect(answers(findings)).toContainEqual(["swap-coil", "moves"]);
});
