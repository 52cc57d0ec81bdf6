/** Words kept beside the page: each page has its own, and what a page that is gone left is taken over once. */
import { expect, test } from "vitest";
import { StorageFactsKeep } from "../../src/page/lib/job/factsKeep.ts";
import { StorageKeep } from "../../src/page/lib/job/jobKeep.ts";
import { fakeStorage as storage } from "./fakeStorage.ts";

const change = (after: string, before = "") => ({ path: ["texts", "done"], before, after });

test("a page that is there keeps its words to itself; one that is gone leaves them to the next, once", async () => {
  const alive = new Set(["a", "b"]);
  const box = storage();
  const page = (name: string): StorageKeep =>
    new StorageKeep(box, name, { alive: () => Promise.resolve(alive) });
  const [a, b] = [page("a"), page("b")];
  expect(a.write("2024-03-02-van", [change("Plug cleaned.")])).toBe(true);
  expect(await b.takeOver("2024-03-02-van")).toEqual([]);
  expect(await b.left()).toEqual([]);
  alive.delete("a");
  expect(await b.left()).toEqual(["2024-03-02-van"]);
  expect(await b.takeOver("another")).toEqual([]);
  expect(await b.takeOver("2024-03-02-van")).toEqual([change("Plug cleaned.")]);
  expect(await b.takeOver("2024-03-02-van")).toEqual([]);
  // And b going too, before it was saved, loses nothing.
  alive.delete("b");
  alive.add("c");
  expect(await page("c").takeOver("2024-03-02-van")).toEqual([change("Plug cleaned.")]);
});

test("words of several pages that are gone become one change a field, and what is not ours is passed by", async () => {
  const box = storage();
  const keep = new StorageKeep(box, "z", { alive: () => Promise.resolve(new Set()) });
  const left = (name: string, text: string): void => box.setItem(`crankside-job-van/${name}`, text);
  left("a", JSON.stringify([change("one")]));
  left("b", JSON.stringify([change("two", "one")]));
  left("c", "{ no JSON");
  left("d", JSON.stringify([{ path: [] }]));
  box.setItem("something-else", "1");
  expect(await keep.takeOver("van")).toEqual([change("two")]);
  expect(box.getItem("something-else")).toBe("1");
  expect(keep.write("van", [])).toBe(true);
  expect(await keep.left()).toEqual([]);
});

test("a storage that is full or off is told, and nothing is thrown", async () => {
  const keep = new StorageKeep(storage(true), "a", { alive: () => Promise.resolve(new Set()) });
  expect([keep.write("van", [change("x")]), keep.write("van", [])]).toEqual([false, false]);
  expect(await keep.left()).toEqual([]);
  const off = new StorageFactsKeep(() => {
    throw new DOMException("off", "SecurityError");
  });
  expect([off.read("next"), off.write("next", {}), off.write("next", null)]).toEqual([null, false, false]);
});

test("facts are read back as they were typed, and what is none is not", () => {
  const box = storage();
  const keep = new StorageFactsKeep(() => box);
  const facts = { complaint: "Shakes.", vehicle: { name: "Van", cylinders: 6 } };
  expect(keep.write("next", facts)).toBe(true);
  expect(keep.read("next")).toEqual(facts);
  box.setItem("crankside-facts-next", '{"vehicle":{"cylinders":"six"}}');
  expect(keep.read("next")).toBeNull();
  keep.write("next", null);
  expect(box.getItem("crankside-facts-next")).toBeNull();
});
