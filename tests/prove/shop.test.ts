import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, expect, test, vi } from "vitest";
import { seeded } from "../../shared/seeded.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";
import { tempFolder } from "../support/program.ts";
import { allFaults } from "./cases.ts";
import { shop } from "./shop.ts";
import { looks, soundHere, unasked } from "./shopHands.ts";
import { solvers, type Outcome, type SolverName } from "./shopSolvers.ts";
import { knownFaults, trueCauses } from "./shopTruth.ts";
import { takeIn } from "./shopVisit.ts";

const folder = tempFolder();
afterAll(() => folder.remove());

test("every fault of the bench vehicle is mended by some repair, and every check has an answer in the shop", () => {
  expect([...knownFaults].sort()).toEqual([...allFaults].sort());
  const causes = tablesModel().causes.map((c) => c.id);
  for (const fault of allFaults) {
    for (const severity of [0.5, 1]) {
      const truth = trueCauses(fault, severity);
      expect(truth.length, fault).toBeGreaterThan(0);
      for (const cause of truth) expect(causes).toContain(cause);
    }
  }
  // Checks that undo another are only reached where the bench vehicle can show the first.
  const others = new Set([...soundHere, ...unasked]);
  expect(handChecks.map((c) => c.id).filter((id) => looks[id] === undefined && !others.has(id))).toEqual([]);
  for (const id of others) expect([id, looks[id]]).toEqual([id, undefined]);
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
  // What a sign points to is the same for every vehicle; apart from that nothing says what is broken.
  const signs = visit.heard.flatMap(({ findings }) => findings.signs.map((s) => ({ ...s, looksLike: [] })));
  const said = visit.heard.map(({ findings }) => ({ ...findings, signs }));
  expect(JSON.stringify(said)).not.toContain("pump-dead");
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
}, 120_000);

test.each([
  ["ignition-one-cylinder", "moves", "stays"],
  ["plug-one-cylinder", "stays", "moves"],
])(
  "each mechanic finds the coil or the plug that it is: %s",
  async (fault, coil, plug) => {
    let visits = 0;
    for (const seed of [1, 2]) {
      const random = seeded(seed);
      const visit = await takeIn({
        ...{ vehicle: "old-hatch", fault, seed, random, folder: folder.path },
      });
      if (visit === null) continue;
      visits += 1;
      for (const draw of [1, 2, 3]) {
        const hands = visit.hands(draw);
        expect([looks["swap-coil"]?.(hands), looks["swap-plug"]?.(hands)], `${seed} ${draw}`).toEqual([
          coil,
          plug,
        ]);
      }
    }
    expect(visits).toBeGreaterThan(0);
  },
  120_000,
);

/** What the command prints. */
async function printed(...args: string[]): Promise<string> {
  const written: string[] = [];
  const write = vi.spyOn(process.stdout, "write").mockImplementation((text) => {
    written.push(String(text));
    return true;
  });
  try {
    expect(await shop(["--shop", ...args])).toBe(0);
  } finally {
    write.mockRestore();
  }
  return written.join("");
}

const names = Object.keys(solvers) as SolverName[];

/** A part of a shop's run, as `--out` keeps it: the tool as given, the others at a fixed price. */
function part(name: string, fault: string, tool: Partial<Outcome>, unheard = 0): string {
  const usual: Outcome = {
    ...{ cost: 100, minutes: 60, checks: 2, vain: 0, solved: true, wrong: false, proved: true, steps: [] },
  };
  const by = Object.fromEntries(
    names.map((n) => {
      if (n === "tool") return [n, [{ ...usual, ...tool }]];
      return [n, [{ ...usual, cost: n === "by-chance" ? 500 : 100 }]];
    }),
  );
  const file = join(folder.path, `${name}.json`);
  writeFileSync(file, JSON.stringify({ unheard, rows: [{ fault, visits: 1, by }] }));
  return file;
}

test("parts of a run add up: visits by fault, ratios and shares over all of them", async () => {
  const one = part("one", "pump-dead", { cost: 150, vain: 1 }, 2);
  const two = part("two", "pump-dead", { cost: 110, wrong: true, solved: false, proved: false });
  const three = part("three", "relay-open", { cost: 100, checks: 5 }, 1);
  const text = await printed("--sum", one, two, three);
  // Means of the tool's cost: 130 over the pump's two visits, 120 over all three.
  expect(text).toMatch(/^pump-dead +2 +130 +500 /m);
  expect(text).toMatch(/^relay-open +1 +100 +500 /m);
  expect(text).toMatch(/^all +3 +120 +500 /m);
  expect(text).toContain("3 more vehicles showed no complaint");
  expect(text).toContain("replacing by probability: 0.24 ");
  expect(text).toContain("the one who knows: 1.20 ");
  expect(text).toContain("parts in vain a visit: 0.333 ");
  expect(text).toContain("wrong conclusions: 33.3 %");
  expect(text).toContain("proved: 2 of 3; given up: 1");
});

test("what is no part of a run is not added", async () => {
  const file = join(folder.path, "other.json");
  writeFileSync(file, JSON.stringify({ rows: [] }));
  await expect(printed("--sum", file)).rejects.toThrow();
});

test("a run, kept and printed again, is the same; so is one from what the run before it read", async () => {
  const out = (name: string): string => join(folder.path, `${name}.json`);
  const keep = join(folder.path, "keep");
  const few = ["--seeds", "5..5", "--vehicles", "old-hatch", "--faults", "immobiliser", "--keep", keep];
  const first = await printed(...few, "--out", out("first"));
  expect(first).toMatch(/^all +1 /m);
  expect(readdirSync(keep)).toEqual(["old-hatch-immobiliser-5.json"]);
  expect(await printed("--sum", out("first"))).toBe(first);
  expect(await printed(...few, "--out", out("again"))).toBe(first);
  expect(readFileSync(out("again"), "utf8")).toBe(readFileSync(out("first"), "utf8"));
  // The same vehicle, the tables shaken: another tool, the same one who knows.
  expect(await printed(...few, "--shaken")).toMatch(/^all +1 /m);
}, 120_000);
