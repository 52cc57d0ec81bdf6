import { afterAll, expect, test } from "vitest";
import { seeded } from "../../src/interpret/bootstrap.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";
import { tempFolder } from "../support/program.ts";
import { allFaults } from "./cases.ts";
import { looks } from "./shopHands.ts";
import { solvers, type SolverName } from "./shopSolvers.ts";
import { knownFaults, trueCauses } from "./shopTruth.ts";
import { takeIn } from "./shopVisit.ts";

const folder = tempFolder();
afterAll(() => folder.remove());

test("every fault of the bench vehicle is mended by some repair, and every check has an answer in the shop", () => {
  expect([...knownFaults].sort()).toEqual([...allFaults].sort());
  const causes = tablesModel().causes.map((c) => c.id);
  for (const fault of allFaults) {
    for (const severity of [0.5, 1]) {
      const truth = trueCauses(fault, severity, 1);
      expect(truth.length, fault).toBeGreaterThan(0);
      for (const cause of truth) expect(causes).toContain(cause);
    }
  }
  // Checks that undo another are only reached where the bench vehicle can show the first.
  expect(handChecks.map((c) => c.id).filter((id) => looks[id] === undefined)).toEqual([]);
});

test("a dead fuel pump, by each solver: the books are kept, the one who knows pays least, nobody is asked the truth", async () => {
  const visit = await takeIn({
    vehicle: "garden-van",
    fault: "pump-dead",
    seed: 4,
    random: seeded(11),
    folder: folder.path,
  });
  if (visit === null) throw new Error("the vehicle shows no complaint");
  expect(visit.complaints).toEqual(["no-start"]);
  expect(JSON.stringify(visit.heard)).not.toContain("pump-dead");
  const prices = { model: tablesModel(), perHour: 40 };
  const outcomes = new Map(
    (Object.keys(solvers) as SolverName[]).map((name) => [name, solvers[name](visit, prices)]),
  );
  const knows = outcomes.get("knows");
  expect(knows).toMatchObject({ solved: true, wrong: false, vain: 0, checks: 0 });
  for (const [name, outcome] of outcomes) {
    expect(outcome.cost, name).toBeGreaterThanOrEqual((knows?.cost ?? 0) - 1e-9);
    expect(outcome.minutes, name).toBeGreaterThan(0);
    expect(outcome.solved && outcome.wrong, name).toBe(false);
  }
  expect(outcomes.get("tool")?.checks).toBeGreaterThan(0);
  expect(outcomes.get("by-chance")?.checks).toBe(0);
}, 60_000);
