import { expect, test } from "vitest";
import type { Crank, Outcome } from "../../src/interpret/report/schema.ts";
import { startsNow } from "../../src/page/lib/job/startsNow.ts";

const crank = (outcome: Outcome, number: number) => ({ outcome, number }) as Crank;

test("it is asked what was changed when a start follows a crank that failed, and only then", () => {
  expect(startsNow([])).toBeNull();
  expect(startsNow([crank("started", 1)])).toBeNull();
  expect(startsNow([crank("turned-and-did-not-fire", 1), crank("started", 2)])?.number).toBe(2);
  expect(startsNow([crank("turned-and-did-not-fire", 1), crank("open", 2)])).toBeNull();
  expect(startsNow([crank("no-turn", 1), crank("started", 2), crank("started", 3)])).toBeNull();
});
