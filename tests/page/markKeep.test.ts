/** Marks kept beside the page: each under its own name, of its own recording, and what is not ours is passed by. */
import { expect, test } from "vitest";
import { StorageMarkKeep } from "../../src/page/lib/marks/markKeep.ts";
import { fakeStorage } from "./fakeStorage.ts";

const mark = { id: "a1", at: 4000, label: "relay swapped" };

test("a mark is there for the next page of the same recording until it is in the recording", () => {
  const box = fakeStorage();
  const [one, next] = [new StorageMarkKeep(() => box), new StorageMarkKeep(() => box)];
  expect(one.write("van.ndjson", mark)).toBe(true);
  expect(one.write("van.ndjson", { ...mark, until: 5000 })).toBe(true);
  expect(one.write("van.ndjson", { id: "b2", at: 1, label: "x", removed: true })).toBe(true);
  expect(next.read("van.ndjson")).toEqual([
    { ...mark, until: 5000 },
    { id: "b2", at: 1, label: "x", removed: true },
  ]);
  expect(next.read("another.ndjson")).toEqual([]);
  expect(next.read("van")).toEqual([]);
  next.remove("van.ndjson", "a1");
  expect(one.read("van.ndjson").map((m) => m.id)).toEqual(["b2"]);
});

test("what is cut off or not ours is passed by", () => {
  const box = fakeStorage();
  const keep = new StorageMarkKeep(() => box);
  for (const text of ["{ no JSON", "null", '{"id":"","at":1,"label":"x"}', '{"id":"c","at":-1,"label":"x"}'])
    box.setItem(`crankside-mark-van.ndjson/${text.length}`, text);
  box.setItem("something-else", JSON.stringify(mark));
  expect(keep.read("van.ndjson")).toEqual([]);
});

test("a storage that is full or off is told, and nothing is thrown", () => {
  const full = fakeStorage(true);
  expect(new StorageMarkKeep(() => full).write("van.ndjson", mark)).toBe(false);
  const off = new StorageMarkKeep(() => {
    throw new DOMException("off", "SecurityError");
  });
  expect(off.write("van.ndjson", mark)).toBe(false);
  expect(off.read("van.ndjson")).toEqual([]);
  off.remove("van.ndjson", "a1");
});
