import { expect, test } from "vitest";
import type { Act } from "../../src/interpret/causes/results.ts";
import type { Crank, Outcome } from "../../src/interpret/report/schema.ts";
import { changedParts, standingChange, turnedNow } from "../../src/page/lib/job/startsNow.ts";

const cranks = (...outcomes: Outcome[]) =>
  outcomes.map((outcome, i) => ({ outcome, number: i + 1 }) as Crank);
const turned = (...outcomes: Outcome[]) => {
  const found = turnedNow(cranks(...outcomes));
  return found === null ? null : [found.to, found.crank.number];
};

test("it is asked what was changed when a start follows a crank that failed, and only then", () => {
  expect(turned()).toBeNull();
  expect(turned("started")).toBeNull();
  expect(turned("turned-and-did-not-fire", "started")).toEqual(["starts", 2]);
  expect(turned("turned-and-did-not-fire", "open")).toBeNull();
  expect(turned("no-turn", "started", "started")).toBeNull();
});

test("and what was changed back when a failure follows a start", () => {
  expect(turned("started", "turned-and-did-not-fire")).toEqual(["fails", 2]);
  expect(turned("started", "open")).toBeNull();
  expect(turned("turned-and-did-not-fire", "turned-and-did-not-fire")).toBeNull();
});

const act = (did: Act["did"], effect: Act["effect"], withdrawn = false) =>
  ({ cause: `${did} ${effect}`, did, effect, withdrawn }) as Act;

test("a change stands that made it start and was neither undone nor withdrawn", () => {
  const gone = act("changed", "gone");
  expect(standingChange([])).toBeNull();
  expect(standingChange([gone])).toBe(gone);
  expect(standingChange([gone, act("reversed", "back", true)])).toBe(gone);
  expect(standingChange([gone, act("reversed", "back")])).toBeNull();
  expect(standingChange([gone, act("left", "back")])).toBeNull();
  expect(standingChange([act("changed", "stays")])).toBeNull();
});

test("each part is named once, by its likeliest fault, and told from its like by its place", () => {
  const cause = (id: string, part: string | null, place: string) => ({
    ...{ id, name: `Name of ${id}`, place },
    repair: { part, does: "", money: [1, 2], minutes: [1, 2], badGuess: "" },
  });
  const causes = [
    cause("a", "relay", "relay box"),
    cause("b", null, "fuse box"),
    cause("c", "relay", "relay box"),
    cause("d", "relay", "at the battery"),
  ] as unknown as Parameters<typeof changedParts>[0];
  expect(changedParts(causes)).toEqual([
    { id: "a", words: "Relay (relay box)" },
    { id: "b", words: "Name of b" },
    { id: "d", words: "Relay (at the battery)" },
  ]);
});
