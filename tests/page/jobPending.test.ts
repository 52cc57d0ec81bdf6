import { expect, test } from "vitest";
import { remaining } from "../../src/page/lib/job/jobPending.ts";
import { folded, type Change } from "../../src/sheet/change.ts";

const done = (before: string, after: string): Change => ({ path: ["texts", "done"], before, after });

test("what was saved is sent no more", () => {
  const sent = [done("", "a")];
  expect(remaining(sent, sent)).toEqual([]);
});

test("a field that was typed on goes on from what was saved", () => {
  const sent = [done("", "a")];
  const now = folded([...sent, done("a", "ab")]);
  expect(remaining(sent, now)).toEqual([done("a", "ab")]);
});

test("a field that was typed back while it was being saved is sent back", () => {
  const sent = [done("", "a")];
  const now = folded([...sent, done("a", "")]);
  expect(now).toEqual([]);
  expect(remaining(sent, now)).toEqual([done("a", "")]);
});

test("another field is left as it is", () => {
  const other: Change = { path: ["who", "plate"], before: "", after: "x" };
  expect(remaining([done("", "a")], [done("", "a"), other])).toContainEqual(other);
});
