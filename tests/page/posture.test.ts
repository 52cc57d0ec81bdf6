/** The page follows the engine a moment later, never under a hand; and which lanes cannot say anything yet. */
import * as fc from "fast-check";
import { expect, test } from "vitest";
import { regimes } from "../../shared/ranges.ts";
import { quietLanes } from "../../src/page/lib/chart/lanes.ts";
import {
  engineOf,
  followEngine,
  followsAfterMs,
  restPosture,
  splitLimits,
  splitWithin,
  turnPosture,
  type PostureState,
} from "../../src/page/lib/app/posture.ts";

const look = (t: number, engine: "motion" | "rest", busy = false) => ({ t, engine, busy });

test("the chart gets the room once the engine has turned for a moment, and the sheet when it stands", () => {
  let state = followEngine(restPosture, look(1000, "motion"));
  expect(state.posture).toBe("rest");
  state = followEngine(state, look(1000 + followsAfterMs - 1, "motion"));
  expect(state.posture).toBe("rest");
  state = followEngine(state, look(1000 + followsAfterMs, "motion"));
  expect(state.posture).toBe("motion");
  state = followEngine(state, look(9000, "rest"));
  expect(followEngine(state, look(9100, "motion")).posture).toBe("motion");
  expect(followEngine(state, look(9000 + followsAfterMs, "rest")).posture).toBe("rest");
});

test("under a hand nothing turns round; it follows once the hand is gone", () => {
  const begun = followEngine(restPosture, look(0, "motion"));
  const held = followEngine(begun, look(60_000, "motion", true));
  expect(held.posture).toBe("rest");
  expect(followEngine(held, look(60_250, "motion")).posture).toBe("motion");
});

test("turned by key it stays so until the engine does something else", () => {
  let state = turnPosture(restPosture);
  for (let t = 0; t < 60_000; t += 250) state = followEngine(state, look(t, "rest"));
  expect(state.posture).toBe("motion");
  state = followEngine(state, look(60_000, "motion"));
  state = followEngine(state, look(70_000, "motion"));
  state = followEngine(turnPosture(state), look(80_000, "motion"));
  expect(state.posture).toBe("rest");
});

test("whatever happens, the page is where the engine is after a quiet moment without a key", () => {
  const step = fc.record({
    engine: fc.constantFrom("motion" as const, "rest" as const),
    busy: fc.boolean(),
    ms: fc.integer({ min: 0, max: 4000 }),
  });
  fc.assert(
    fc.property(fc.array(step), fc.constantFrom("motion" as const, "rest" as const), (steps, last) => {
      let t = 0;
      let state: PostureState = restPosture;
      for (const { engine, busy, ms } of steps) state = followEngine(state, look((t += ms), engine, busy));
      state = followEngine(state, look(t, last));
      expect(followEngine(state, look(t + followsAfterMs, last)).posture).toBe(last);
    }),
  );
});

test("regimes in which the engine turns or runs, and the limits of the divider", () => {
  const still = regimes.filter((regime) => engineOf(regime) === "rest");
  expect(still.sort()).toEqual(["key-on", "shut-off", "silent", "stall"]);
  expect(engineOf(null)).toBe("rest");
  expect([splitWithin(0), splitWithin(0.5), splitWithin(2)]).toEqual([
    splitLimits.least,
    0.5,
    splitLimits.most,
  ]);
});

test("fuel trim and oxygen sensors cannot say anything before the engine has run, nor can what was not read", () => {
  const lanes = [["engine-speed"], ["trim-short-b1", "trim-long-b1"], ["oxygen-b1s1"], ["coolant"]];
  const read = (entry: string): boolean => entry !== "coolant";
  expect(quietLanes(lanes, { ran: false, read })).toEqual([lanes[1], lanes[2], lanes[3]]);
  expect(quietLanes(lanes, { ran: true, read })).toEqual([lanes[3]]);
});
