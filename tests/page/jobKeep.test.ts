/** Words kept beside the page: each page has its own, and what a page that is gone left is taken over once. */
import { expect, test } from "vitest";
import { othersOf } from "../../src/page/lib/connection/pagesAlive.ts";
import { JobKeep } from "../../src/page/lib/job/jobKeep.ts";
import { fakeStorage as storage } from "./fakeStorage.ts";

const none = (): [] => [];
const change = (after: string, before = "") => ({ path: ["texts", "done"], before, after });

test("a page that is there keeps its words to itself; one that is gone leaves them to the next, once", async () => {
  const alive = new Set(["a", "b"]);
  const box = storage();
  const page = (name: string): JobKeep =>
    new JobKeep(() => box, name, { alive: () => Promise.resolve(alive) });
  const [a, b] = [page("a"), page("b")];
  expect(a.kept.write(a.key("2024-03-02-van"), [change("Plug cleaned.")])).toBe(true);
  expect(await b.takeOver("2024-03-02-van", none)).toBeNull();
  expect(await b.left()).toEqual([]);
  alive.delete("a");
  expect(await b.left()).toEqual(["2024-03-02-van"]);
  expect(await b.takeOver("another", none)).toBeNull();
  expect(await b.takeOver("2024-03-02-van", none)).toEqual([change("Plug cleaned.")]);
  expect(await b.takeOver("2024-03-02-van", none)).toBeNull();
  // And b going too, before it was saved, loses nothing.
  alive.delete("b");
  alive.add("c");
  expect(await page("c").takeOver("2024-03-02-van", none)).toEqual([change("Plug cleaned.")]);
});

test("words of several pages that are gone become one change a field, and what is not ours is passed by", async () => {
  const box = storage();
  const keep = new JobKeep(() => box, "z", { alive: () => Promise.resolve(new Set()) });
  const left = (name: string, text: string): void => box.setItem(`crankside-job-van/${name}`, text);
  left("a", JSON.stringify([change("one")]));
  left("b", JSON.stringify([change("two", "one")]));
  left("c", "{ no JSON");
  left("d", JSON.stringify([{ path: [] }]));
  box.setItem("something-else", "1");
  expect(await keep.takeOver("van", none)).toEqual([change("two")]);
  expect(box.getItem("something-else")).toBe("1");
  expect(keep.kept.write(keep.key("van"), null)).toBe(true);
  expect(await keep.left()).toEqual([]);
});

test("where the browser refuses locks as it does storage, nobody is there besides this page", async () => {
  const refused = (): Promise<never> => Promise.reject(new DOMException("denied", "SecurityError"));
  const others = othersOf("a", { request: refused, query: refused });
  expect(await others.alive()).toEqual(new Set());
  expect(await othersOf("a", undefined).alive()).toEqual(new Set());
});

test("a storage that is full or off is told, and nothing is thrown", async () => {
  const full = storage(true);
  const keep = new JobKeep(() => full, "a", { alive: () => Promise.resolve(new Set()) });
  expect([keep.kept.write(keep.key("van"), [change("x")]), keep.kept.write(keep.key("van"), null)]).toEqual([
    false,
    false,
  ]);
  expect(await keep.left()).toEqual([]);
});
