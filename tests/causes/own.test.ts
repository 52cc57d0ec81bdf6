/** Own proved cases beside the tables: a Dirichlet prior, told as such. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { advise } from "../../src/interpret/causes/advice.ts";
import { buildModel, priorShares } from "../../src/interpret/causes/model.ts";
import { ownWords, type OwnCase, type OwnCases } from "../../src/interpret/causes/own.ts";
import { ownCases } from "../../src/interpret/causes/tables/ownCases.ts";

const model = buildModel();
const startable = model.causes.filter((c) => (c.weight["no-start"] ?? 0) > 0).map((c) => c.id);
const [one = "", two = "", three = ""] = startable;

function cases(cause: string, count: number, signs: readonly string[] = []): OwnCase[] {
  return Array.from({ length: count }, (_, i) => ({
    ...{ id: `${cause}-${i}`, complaints: ["no-start"], signs, cause },
  }));
}

const share = (own: OwnCases | undefined, cause: string): number =>
  priorShares(model, ["no-start"], {}, own)[model.place.get(cause) ?? -1] ?? Number.NaN;

test("the share is that of the tables' weight as so many cases, and the counts", () => {
  const table = share(undefined, one) / 0.95;
  const own = { cases: [...cases(one, 9), ...cases(two, 3)], worth: 20 };
  expect(share(own, one)).toBeCloseTo((0.95 * (20 * table + 9)) / (20 + 12), 12);
  // One that nobody had falls by what the others took.
  expect(share(own, three)).toBeCloseTo((share(undefined, three) * 20) / 32, 12);
});

test("without cases, or of other complaints, the tables stand as they are", () => {
  const other = { cases: cases(one, 50).map((c) => ({ ...c, complaints: ["rich"] })), worth: 20 };
  for (const own of [{ cases: [], worth: 20 }, other])
    expect([...priorShares(model, ["no-start"], {}, own)]).toEqual([...priorShares(model, ["no-start"], {})]);
  const unknown = { cases: cases("of-a-later-version", 50), worth: 20 };
  expect([...priorShares(model, ["no-start"], {}, unknown)]).toEqual([
    ...priorShares(model, ["no-start"], {}),
  ]);
});

test("any counts leave shares that sum to one; more cases of a cause never lower it", () => {
  const some = fc.array(fc.constantFrom(...startable), { maxLength: 60 });
  fc.assert(
    fc.property(
      some,
      fc.constantFrom(...startable),
      fc.integer({ min: 1, max: 200 }),
      (list, more, worth) => {
        const given = list.flatMap((cause) => cases(cause, 1));
        const shares = priorShares(model, ["no-start", "rough"], {}, { cases: given, worth });
        expect(shares.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 9);
        const grown = { cases: [...given, ...cases(more, 1)], worth };
        expect(share(grown, more)).toBeGreaterThanOrEqual(share({ cases: given, worth }, more) - 1e-12);
      },
    ),
  );
});

test("enough own cases change the order, and each says what they were", () => {
  const situation = { complaints: ["no-start"] as const };
  const before = advise(situation, { steady: false });
  const rare = startable.find((id) => !before.causes.some((c) => c.id === id)) ?? "";
  const own = { cases: cases(rare, 40), worth: ownCases.worth };
  const after = advise({ ...situation, own }, { steady: false });
  expect(after.causes[0]).toMatchObject({
    id: rare,
    own: expect.stringMatching(/^Of 40 own cases of "/) as string,
  });
  expect(after.own).toMatchObject({ cases: 40, worth: 20 });
  // Cases of one of two complaints count where the other is there as well.
  expect(advise({ complaints: ["no-start", "rough"], own }).own?.cases).toBe(40);
  expect(before.own).toBeUndefined();
  expect(before.causes.every((c) => c.own === undefined)).toBe(true);
});

test("the words count by the sign that most of them share", () => {
  const own = {
    cases: [
      ...cases("a", 9, ["crank.no-speed"]),
      ...cases("b", 3, ["crank.no-speed"]),
      ...cases("c", 2, ["crank.no-speed"]),
      ...cases("d", 1, ["crank.no-speed"]),
      ...cases("a", 1),
    ],
    worth: 20,
  };
  const now = { complaints: ["no-start"] as const, signs: new Map([["crank.no-speed", "No crank speed"]]) };
  const name = (id: string): string => id.toUpperCase();
  expect(ownWords("b", now, own, name)).toContain('with "No crank speed": 3 B, 9 A, 2 C, 1 other.');
  expect(ownWords("x", now, own, name)).toBeNull();
});
