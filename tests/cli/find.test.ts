/** `find` as a person types it. */
import { copyFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { closed, headerText } from "../recorder/support.ts";
import { build } from "../support/build.ts";
import { crankside, tempFolder } from "../support/program.ts";

const folder = tempFolder();

beforeAll(() => {
  build();
  for (const name of ["Garden van", "Hay truck"])
    writeFileSync(
      join(folder.path, `${name.slice(0, 3)}.ndjson`),
      closed(headerText.replace('"vehicle":{}', `"vehicle":{"name":"${name}"}`)),
    );
}, 180_000);
afterAll(() => folder.remove());

test("a line each, or all of it as JSON; what is no day is refused", async () => {
  const there = ["--folder", folder.path];
  const found = await crankside(["find", "garden", ...there]);
  expect(found.status).toBe(0);
  expect(found.stdout).toMatch(/^Gar\.ndjson\n.* · Garden van · invented data\n1 of 2\.\n$/);
  const json = JSON.parse((await crankside(["find", "--json", ...there])).stdout) as { name: string }[];
  expect(json.map((one) => one.name).sort()).toEqual(["Gar.ndjson", "Hay.ndjson"]);
  expect((await crankside(["find", "zebra", ...there])).stdout).toBe("Nothing of 2 fits.\n");
  expect((await crankside(["find", "--since", "May", ...there])).status).toBe(2);
});

test("sound recordings alone, and those like one that is looked at", async () => {
  const samples = join(import.meta.dirname, "../../recordings");
  copyFileSync(join(samples, "van-as-it-should-be.ndjson.gz"), join(folder.path, "well.ndjson.gz"));
  const there = ["--folder", folder.path];
  const sound = await crankside(["find", "--sound", ...there]);
  expect(sound.stdout).toMatch(/^well\.ndjson\.gz\n.*\n1 of 3\.\n$/);
  const like = await crankside([
    ...["find", "--like", join(samples, "van-stood-all-winter.ndjson.gz"), ...there],
  ]);
  expect(like.stdout).toMatch(/^well\.ndjson\.gz\n.*\n1 good, same vehicle, \d+ °C\n1 of 3\.\n$/);
  const other = await crankside(["find", "--like", join(samples, "truck-shakes.ndjson.gz"), ...there]);
  expect(other.stdout).toBe("Nothing of 3 fits.\n");
}, 180_000);
