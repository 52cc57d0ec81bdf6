/** Sequences of acts, and what each proves. */
import { expect, test } from "vitest";
import { advise } from "../../src/interpret/causes/advice.ts";
import type { LogEntry } from "../../src/interpret/causes/results.ts";
import { consider } from "../../src/interpret/causes/visit.ts";
import type { Proof } from "../../src/interpret/causes/proof.ts";
import { act, at, heard, result, sign } from "./support.ts";

function proofOf(cause: string, log: readonly LogEntry[]): Proof {
  const considered = consider({ complaints: ["no-start"], log }, { steady: false });
  return considered.proof(considered.model.place.get(cause) ?? -1);
}

test("swapped, works, swapped back, still works: shown at most, a contact is not excluded", () => {
  const log = [result("relay-swap", "works", 1), result("relay-back", "works", 5)];
  const proof = proofOf("relay-open", log);
  expect(proof.state).toBe("shown");
  expect(proof.notExcluded).toBe(true);
  expect(proof.words).toMatch(/shown at most/i);
  expect(proof.words).toMatch(/intermittent contact/);
  expect(proof.wouldProve).toMatch(/provoke/i);
  const advice = advise({ complaints: ["no-start"], log });
  expect(advice.next.kind).toBe("prove");
  expect(advice.others).toHaveLength(0);
});

test("swapped, works, swapped back, the fault is back: proved", () => {
  const proof = proofOf("relay-open", [result("relay-swap", "works", 1), result("relay-back", "returns", 5)]);
  expect(proof).toMatchObject({ state: "proved", notExcluded: false, wouldProve: "" });
});

test("swapped and works, nothing more: shown, and the next thing is to swap back", () => {
  const log = [result("relay-swap", "works", 1)];
  expect(proofOf("relay-open", log)).toMatchObject({ state: "shown", notExcluded: false });
  const { next } = advise({ complaints: ["no-start"], log });
  expect(next).toMatchObject({ kind: "check", check: { id: "relay-back" } });
});

test("nothing changed: suspected, with what would prove it", () => {
  const proof = proofOf("crank-signal-dead", [result("crank-sensor", "none", 1)]);
  expect(proof.state).toBe("suspected");
  expect(proof.wouldProve).toMatch(/signal/i);
});

test("replaced and gone with an independent measurement before it: proved; without one: shown", () => {
  const replaced = act("crank-signal-dead", "changed", "gone", 30);
  expect(proofOf("crank-signal-dead", [replaced]).state).toBe("shown");
  const both = proofOf("crank-signal-dead", [result("crank-sensor", "none", 1), replaced]);
  expect(both.state).toBe("proved");
  expect(both.words).toContain("independent check");
});

test("replaced and the fault stayed: cleared", () => {
  expect(proofOf("crank-signal-dead", [act("crank-signal-dead", "changed", "stays", 3)]).state).toBe(
    "cleared",
  );
});

test("several things changed at once: shown, and open which of them", () => {
  const proof = proofOf("spark-dead", [{ ...act("spark-dead", "changed", "gone", 3), together: 2 }]);
  expect(proof).toMatchObject({ state: "shown", notExcluded: true });
  expect(proof.words).toContain("3 things");
});

test("it came back with the change in place: not this, or not this alone", () => {
  const log = [act("pump-dead", "changed", "gone", 3), act("pump-dead", "left", "back", 50)];
  const proof = proofOf("pump-dead", log);
  expect(proof.state).toBe("suspected");
  expect(proof.words).toContain("not this");
  expect(advise({ complaints: ["no-start"], log }).next.kind).not.toBe("done");
});

test("changed, gone, reversed, back, changed, gone: proved both ways", () => {
  const log = [
    act("fuel-stale", "changed", "gone", 3),
    act("fuel-stale", "reversed", "back", 10),
    act("fuel-stale", "changed", "gone", 20),
  ];
  expect(proofOf("fuel-stale", log).words).toContain("went away again");
  for (const length of [2, 3]) expect(proofOf("fuel-stale", log.slice(0, length)).state).toBe("proved");
  const held = act("fuel-stale", "changed", "stays", 30);
  expect(proofOf("fuel-stale", [...log, held]).state).toBe("cleared");
});

test("a booster that starts it shows the supply, not yet which part of it", () => {
  const log = [result("booster", "starts", 1)];
  for (const cause of ["battery-worn", "alternator-dead"])
    expect(proofOf(cause, log).state).toBe("suspected");
});

test("a result that was withdrawn proves nothing", () => {
  const log: LogEntry[] = [
    result("relay-swap", "works", 1, { id: "s" }),
    result("relay-back", "returns", 5),
    { k: "withdraw", id: "w", of: "s", at: at(8) },
  ];
  expect(proofOf("relay-open", log).state).toBe("suspected");
});

test("signs of one story count as one look, and the complaint itself as none", () => {
  const proof = consider(
    {
      complaints: ["no-start"],
      heard: [heard({ signs: [sign("crank.no-speed", "outside"), sign("counter.still", "outside")] })],
      log: [act("crank-signal-dead", "changed", "gone", 30)],
    },
    { steady: false },
  );
  const found = proof.proof(proof.model.place.get("crank-signal-dead") ?? -1);
  expect(found.state).toBe("proved");
  expect(found.rests).toHaveLength(2);
});

test("a change that was withdrawn shows nothing, whether an act or a check made it", () => {
  const changed = act("pump-dead", "changed", "gone", 3);
  const taken: LogEntry = { k: "withdraw", id: "w", of: changed.id, at: at(8) };
  expect(proofOf("pump-dead", [changed]).state).toBe("shown");
  expect(proofOf("pump-dead", [changed, taken])).toMatchObject({ state: "suspected", rests: [] });
  const advice = advise({ complaints: ["no-start"], log: [changed, taken] });
  expect(["prove", "done"]).not.toContain(advice.next.kind);
});

test("two things changed at once stay open, even where a measurement agreed before", () => {
  const before = result("crank-sensor", "none", 1);
  const both = { ...act("crank-signal-dead", "changed", "gone", 30), together: 1 };
  expect(proofOf("crank-signal-dead", [before, { ...both, together: 0 }]).state).toBe("proved");
  const proof = proofOf("crank-signal-dead", [before, both]);
  expect(proof).toMatchObject({ state: "shown", notExcluded: true });
  expect(proof.words).toContain("2 things were changed at once");
  expect(proof.wouldProve).toMatch(/one at a time/);
});
