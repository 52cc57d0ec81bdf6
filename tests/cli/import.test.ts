/** A log from elsewhere without a map, as a person types it. */
import { existsSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { build } from "../support/build.ts";
import { crankside, tempFolder } from "../support/program.ts";

const folder = tempFolder();
const file = (name: string): string => join(folder.path, name);
const own = file("recordings");

beforeAll(() => build(), 180_000);
afterAll(() => folder.remove());

test("what the file says needs no more words: it lands where recordings live", async () => {
  writeFileSync(
    file("trip.csv"),
    "Time;RPM;ECT [°C];MAP\n0,0;800;90;40kPa\n0,5;810;90;41kPa\n1,0;820;91;42kPa\n",
  );
  const { status, stdout, stderr } = await crankside(["import", file("trip.csv"), "--folder", own]);
  expect(status).toBe(0);
  expect(stderr).toMatch(/MAP +manifold +kPa/);
  expect(stdout).toContain("9 readings of 3 channels");
  expect((await crankside(["verify", join(own, "trip.ndjson")])).status).toBe(0);
});

test("what it does not say is asked; said once it is known for the next log of this form", async () => {
  writeFileSync(file("us.csv"), "Time,RPM,Coolant\n0,800,194\n1,810,194\n2,820,195\n");
  const asked = await crankside(["import", file("us.csv"), "--folder", own]);
  expect(asked.status).toBe(1);
  expect(asked.stderr).toContain("The file does not say the unit of Coolant");
  expect(existsSync(join(own, "us.ndjson"))).toBe(false);
  expect((await crankside(["import", file("us.csv"), "--folder", own, "--units", "us"])).status).toBe(0);
  expect(readFileSync(join(own, "us.ndjson"), "utf8")).toContain('"ch":"coolant","v":90,"u":"°C"');
  expect(readdirSync(join(own, "maps"))).toHaveLength(1);
  writeFileSync(file("us2.csv"), readFileSync(file("us.csv"), "utf8").replace("194", "212"));
  expect((await crankside(["import", file("us2.csv"), "--folder", own])).status).toBe(0);
  expect(readFileSync(join(own, "us2.ndjson"), "utf8")).toContain('"v":100,"u":"°C"');
});

test("a map to change by hand is written, and used; a refusal names the column and what is near", async () => {
  writeFileSync(file("odd.csv"), "Time,Engine sped,Speed [mph]\n0,800,10\n1,810,11\n2,820,12\n");
  const likely = await crankside(["import", file("odd.csv"), "--folder", own]);
  expect(likely.status).toBe(1);
  expect(likely.stderr).toContain("Only likely: Engine sped");
  expect((await crankside(["import", file("odd.csv"), "--write-map", file("map.json")])).status).toBe(0);
  const out = file("odd.ndjson");
  expect(
    (await crankside(["import", file("odd.csv"), "--columns", file("map.json"), "--out", out])).status,
  ).toBe(0);
  const map = readFileSync(file("map.json"), "utf8");
  writeFileSync(file("slip.json"), map.replace('"vehicle-speed"', '"vehicle-sped"'));
  const slip = await crankside([
    "import",
    file("odd.csv"),
    "--columns",
    file("slip.json"),
    "--out",
    file("x.ndjson"),
  ]);
  expect(slip.status).toBe(1);
  for (const words of ["Speed [mph]", "vehicle-sped", "vehicle-speed", "crankside channels"])
    expect(slip.stderr).toContain(words);
  writeFileSync(file("other.csv"), "Time,Engine speed,Speed [mph]\n0,800,10\n");
  const missing = await crankside([
    "import",
    file("other.csv"),
    "--columns",
    file("map.json"),
    "--out",
    file("x.ndjson"),
  ]);
  expect(missing.status).toBe(1);
  expect(missing.stderr).toContain("Engine sped (near to it: Engine speed)");
});

test("channels are listed with the standard's abbreviation and their units, all or by words", async () => {
  const all = await crankside(["channels"]);
  expect(all.stdout).toMatch(/^engine-speed +Engine speed \(RPM\); rpm$/m);
  expect(all.stdout).toMatch(/^trim-short-b2 .*\(SHRTFT2\); %$/m);
  const some = await crankside(["channels", "MAF"]);
  expect(some.stdout).toMatch(/^air-flow .*\(MAF\); g\/s, kg\/h, lb\/min/m);
  expect(some.stdout.split("\n").length).toBeLessThan(8);
  expect((await crankside(["channels", "nonsense"])).status).toBe(2);
});
