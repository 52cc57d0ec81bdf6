/** Words kept beside the page: each under its key, taken away as they were put, and what is not ours is passed by. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { keptFacts } from "../../src/page/lib/app/recordingOutboxes.ts";
import { fileOfKey, keptMarks, markKey } from "../../src/page/lib/marks/markKeep.ts";
import { fakeStorage } from "./fakeStorage.ts";

const mark = { id: "a1", at: 4000, label: "relay swapped" };
const key = markKey("van.ndjson", "a1");

test("a mark is there for the next page of the same recording until it is in the recording", () => {
  const box = fakeStorage();
  const [one, next] = [keptMarks(() => box), keptMarks(() => box)];
  const removed = { id: "b2", at: 1, label: "x", removed: true } as const;
  expect(one.write(key, mark)).toBe(true);
  expect(one.write(key, { ...mark, until: 5000 })).toBe(true);
  expect(one.write(markKey("van.ndjson", "b2"), removed)).toBe(true);
  const keys = next.keys(markKey("van.ndjson", ""));
  expect(keys.map((k) => next.read(k))).toEqual([{ ...mark, until: 5000 }, removed]);
  expect([next.keys("another.ndjson/"), next.keys("van/")]).toEqual([[], []]);
  expect(keys.map(fileOfKey)).toEqual(["van.ndjson", "van.ndjson"]);
  // Not in these words: another tab typed on.
  next.takeAway(key, mark);
  expect(one.keys("").length).toBe(2);
  next.takeAway(key, { ...mark, until: 5000 });
  expect(one.keys("")).toEqual(["van.ndjson/b2"]);
});

test("what is cut off or not ours is passed by", () => {
  const box = fakeStorage();
  const keep = keptMarks(() => box);
  for (const text of [
    "{ no JSON",
    "null",
    '{"id":"","at":1,"label":"x"}',
    '{"id":"c","at":-1,"label":"x"}',
  ]) {
    box.setItem(`crankside-mark-${key}`, text);
    expect(keep.read(key)).toBeNull();
  }
});

test("a storage that is full or off is told, and nothing is thrown", () => {
  const full = fakeStorage(true);
  const keep = keptMarks(() => full);
  expect([keep.works(), keep.write(key, mark), keep.write(key, null)]).toEqual([false, false, false]);
  const off = keptMarks(() => {
    throw new DOMException("off", "SecurityError");
  });
  expect([off.works(), off.write(key, mark), off.write(key, null), off.isOfLater(key)]).toEqual([
    ...[false, false, false, false],
  ]);
  expect([off.read(key), off.keys("")]).toEqual([null, []]);
  off.takeAway(key, mark);
});

test("whether something can be kept is tried without a trace", () => {
  const box = fakeStorage();
  expect([keptMarks(() => box).works(), Object.keys(box)]).toEqual([true, []]);
});

test("facts are read back as they were typed, and what is none is not", () => {
  fc.assert(
    fc.property(fc.string({ maxLength: 200 }), fc.integer({ min: 1, max: 16 }), (complaint, cylinders) => {
      const box = fakeStorage();
      const keep = keptFacts(() => box);
      const facts = { complaint, vehicle: { name: "Van", cylinders } };
      expect(keep.write("next", facts)).toBe(true);
      expect(keep.read("next")).toEqual(facts);
      box.setItem("crankside-facts-next", '{"vehicle":{"cylinders":"six"}}');
      expect(keep.read("next")).toBeNull();
      keep.write("next", null);
      expect(Object.keys(box)).toEqual([]);
    }),
  );
});
