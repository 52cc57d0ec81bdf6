/** What `crankside read` says first: the sentence across the bay. */
import { join } from "node:path";
import { expect, test } from "vitest";
import { crankside } from "../support/program.ts";

const sample = (name: string): string => join(import.meta.dirname, "../../recordings", name);

test.each([
  [
    "hatch-turns-and-says-nothing.ndjson.gz",
    /^Starter draws current, no RPM signal, 3 cranks alike; likely cause: /,
  ],
  ["van-hisses-at-idle.ndjson.gz", /^Each bank gets about 1\.5 g\/s of unmetered air/],
  ["hatch-cold-morning.ndjson.gz", /^Nothing wrong in what was heard; not heard yet: warm idle/],
])("%s begins with its sentence", async (name, words) => {
  const { stdout } = await crankside(["read", sample(name)]);
  expect(stdout).toMatch(words);
  const next = await crankside(["read", "--next", sample(name)]);
  expect(next.stdout.split("\n")[0]).toBe(stdout.split("\n")[0]);
});
