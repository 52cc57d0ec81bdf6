/** What is decided on given shares: checks, repairs that cost nothing, parts, giving up. */
import { expect, test } from "vitest";
import { Belief } from "../../src/interpret/causes/belief.ts";
import {
  decide,
  leastToBuy,
  possibleChecks,
  repairsOf,
  usualPreferences,
} from "../../src/interpret/causes/next.ts";
import { actOf } from "../../src/interpret/causes/model.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";

const model = tablesModel();

/** Shares as given, the rest on "none of these". */
function believed(given: Readonly<Record<string, number>>): Belief {
  const prior = new Float64Array(model.causes.length + 1).fill(1e-9);
  let left = 1;
  for (const [id, share] of Object.entries(given)) {
    const at = model.place.get(id);
    if (at === undefined) throw new Error(`no cause ${id}`);
    prior[at] = share;
    left -= share;
  }
  prior[model.causes.length] = left;
  return Belief.of(prior, []);
}

const without = (given: Readonly<Record<string, number>>): ReturnType<typeof decide>["choice"] =>
  decide(believed(given), [], { model, preferences: usualPreferences }).choice;

test("a repair that buys nothing is done on less than half a share; a part is not bought on it", () => {
  const buys = (act: string): boolean | undefined => repairsOf(model, 40).find((r) => r.act === act)?.buys;
  expect([buys("crank-signal-contact"), buys("crank-signal-dead")]).toEqual([false, true]);
  const share = leastToBuy - 0.1;
  // Cleaning a connector: nothing bought, and nothing else comes near it.
  const free = without({ "crank-signal-contact": share, "fuel-stale": 0.1 });
  expect(free).toMatchObject({ kind: "repair", repair: { act: "crank-signal-contact", buys: false } });
  expect(without({ "crank-signal-dead": share, "fuel-stale": 0.1 }).kind).toBe("give-up");
  expect(without({ "crank-signal-dead": leastToBuy + 0.1 })).toMatchObject({
    kind: "repair",
    repair: { act: "crank-signal-dead" },
  });
});

test("a repair buys something when any cause that it mends needs a part", () => {
  for (const repair of repairsOf(model, 40)) {
    const rows = model.causes.filter((c) => actOf(c) === repair.act);
    expect(repair.buys, repair.act).toBe(rows.some((c) => c.repair.part !== null));
  }
});

test("before likely work that buys nothing goes what tells whether it would be in vain, not the pump", () => {
  const shares = {
    "crank-signal-contact": 0.55,
    "crank-signal-weak": 0.3,
    "pump-dead": 0.05,
    "spark-dead": 0.04,
  };
  const { possible } = possibleChecks(model, {
    ...{ complaints: ["no-start"], facts: {}, state: "turns", answered: new Set<string>() },
    ...{ log: { results: [], acts: [], problems: [] }, preferences: usualPreferences },
  });
  const { choice } = decide(believed(shares), possible, { model, preferences: usualPreferences });
  if (choice.kind !== "check") throw new Error(choice.kind);
  expect(choice.why).toBe("before-work");
  expect(choice.check.reorders).toBeGreaterThan(0.1);
  const tells = choice.check.question.outcomes.map((_, k) => choice.check.outcomes[k]?.shares);
  const at = model.place.get("crank-signal-contact") ?? -1;
  const contact = tells.map((after) => after?.[at] ?? 0);
  expect(Math.max(...contact) - Math.min(...contact)).toBeGreaterThan(0.2);
});
