/** What a learner is told at the end: spent, told most, bought in vain, against the one who knows. */
import { expect, test } from "vitest";
import { debrief, debriefLines } from "../../src/interpret/causes/debrief.ts";
import { repairCost } from "../../src/interpret/causes/next.ts";
import type { LogEntry } from "../../src/interpret/causes/results.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";

const at = (minute: number): string => `2024-03-02T09:${String(minute).padStart(2, "0")}:00.000+01:00`;
const model = tablesModel();
const cause = (id: string) => {
  const row = model.causes.find((c) => c.id === id);
  if (row === undefined) throw new Error(`no cause ${id}`);
  return row;
};
const situation = (log: readonly LogEntry[]) => ({ complaints: ["no-start"] as const, log });

const swap: LogEntry = { k: "result", id: "a", at: at(10), check: "relay-swap", outcome: "works" };
const back: LogEntry = { k: "result", id: "b", at: at(20), check: "relay-back", outcome: "returns" };
const pump: LogEntry = { k: "act", id: "p", at: at(5), cause: "pump-dead", did: "changed", effect: "stays" };
const relay: LogEntry = {
  k: "act",
  id: "c",
  at: at(30),
  cause: "relay-open",
  did: "changed",
  effect: "gone",
};

test("the one who knows pays the right repair and nothing else", () => {
  const told = debrief(situation([relay]), ["relay-open"]);
  const { full } = repairCost(cause("relay-open"), 40);
  expect(told).toMatchObject({
    found: true,
    knows: Math.round(full),
    spent: Math.round(full),
    inVain: [],
    best: null,
  });
});

test("a guess is bought in vain, checks cost their time, and the one that told most is named", () => {
  const told = debrief(situation([pump, swap, back, relay]), ["relay-open"]);
  const { guess } = repairCost(cause("pump-dead"), 40);
  expect(told.inVain).toEqual([{ name: cause("pump-dead").name, cost: Math.round(guess) }]);
  expect(told.spent).toBeGreaterThan(told.knows + guess - 1);
  expect(told.checks.map((c) => c.id)).toEqual(["relay-swap", "relay-back"]);
  for (const check of told.checks) expect(check.after).toBeGreaterThan(check.before);
  expect(told.best?.id).toBe("relay-swap");
  const lines = debriefLines(told, ["Main relay open"], [cause("relay-open").name]).join("\n");
  expect(lines).toContain("It was: main relay open");
  expect(lines).toContain(`Changed in vain: ${cause("pump-dead").name}`);
  expect(lines).toContain("What told most:");
});

test("what was not mended is not called found; withdrawn entries cost nothing", () => {
  const withdrawn: LogEntry = { k: "withdraw", id: "w", at: at(40), of: "a" };
  const told = debrief(situation([swap, withdrawn, pump]), ["relay-open"]);
  expect(told.found).toBe(false);
  expect(told.checks).toEqual([]);
  const taken: LogEntry = { k: "withdraw", id: "v", at: at(45), of: "p" };
  expect(debrief(situation([pump, taken, relay]), ["relay-open"])).toMatchObject({ found: true, inVain: [] });
  expect(debrief(situation([{ ...relay, effect: "stays" }]), ["relay-open"]).found).toBe(false);
});

test("either of two repairs that mend it is right", () => {
  const coil: LogEntry = { k: "act", id: "c", at: at(30), cause: "coil-one", did: "changed", effect: "gone" };
  const told = debrief({ complaints: ["rough"], log: [coil] }, ["coil-one", "plug-one"]);
  expect(told).toMatchObject({ found: true, inVain: [] });
});
