import { expect, test } from "vitest";
import { Waiting } from "../../src/page/lib/connection/waiting.ts";

test("each question gets its own answer, once", async () => {
  const waiting = new Waiting<string>();
  const one = waiting.begin();
  const two = waiting.begin();
  waiting.settle(two.id, "second");
  waiting.settle(one.id, "first");
  waiting.settle(one.id, "again");
  waiting.settle(99, "nobody");
  expect(await Promise.all([one.answer, two.answer])).toEqual(["first", "second"]);
});

test("nothing waits on after all were settled", async () => {
  const waiting = new Waiting<string>();
  const answers = [waiting.begin(), waiting.begin(), waiting.begin()].map(({ answer }) => answer);
  waiting.settleAll("gone");
  expect(await Promise.all(answers)).toEqual(["gone", "gone", "gone"]);
});
