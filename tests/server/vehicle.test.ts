/** What a page may ask of the vehicle beside its readings: over a real WebSocket, on the bench vehicle. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { readDefinedParameters } from "../../shared/defined.ts";
import { foldSurvey } from "../../shared/survey.ts";
import { Reading } from "../../src/reading/index.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage as Page } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";
import { virtualService } from "../support/virtualService.ts";

const example = new URL("../../recordings/parameters/bench-signals.json", import.meta.url);

let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;
let page: Page;

beforeEach(async () => {
  folder = tempFolder();
  server = await startServer({
    ...withoutPage(folder.path),
    defined: readDefinedParameters(readFileSync(example, "utf8"), "bench-signals.json"),
  });
  page = await Page.open(server.url);
});

afterEach(async () => {
  page.close();
  await server.close();
  folder.remove();
});

const connect = { type: "connect", address: "bench:garden-van", facts: {} } as const;

function read(file: string): Reading {
  const reading = new Reading(file);
  reading.push(readFileSync(join(folder.path, file), "utf8"));
  reading.finish();
  return reading;
}

test("armed before the key is turned, the focus is on cranking, until it is taken back", async () => {
  expect(page.status).toMatchObject({ focus: null, armed: false });
  await page.ask(connect);
  expect(page.status).toMatchObject({ focus: "survey", armed: false });
  expect(await page.ask({ type: "arm", on: true })).toMatchObject({ type: "done" });
  await page.until(() => page.status?.armed === true);
  expect(page.status).toMatchObject({ focus: "cranking", armed: true });
  await page.ask({ type: "arm", on: false });
  await page.until(() => page.status?.armed === false);
}, 180_000);

test("a survey goes into the live recording; without one it is refused", async () => {
  expect(await page.ask({ type: "survey" })).toMatchObject({ failure: { code: "wrong-use" } });
  await page.ask(connect);
  const file = page.status?.recording?.file ?? "";
  expect(await page.ask({ type: "survey" })).toMatchObject({ type: "done" });
  await page.ask({ type: "disconnect" });
  const survey = foldSurvey(read(file).answers, true, null);
  expect(survey.modules.map(({ module, stored }) => [module, stored])).toEqual([
    ["7E8", []],
    ["7E9", []],
  ]);
  expect(survey.modules[0]?.vin?.checkDigit).toBe("fits");
}, 180_000);

test("a channel that the person wants more often is, from then on and behind the next connecting", async () => {
  // How often in a while: on a clock that the machine's other work does not hurry.
  const { folder: own, clock, ask, close } = await virtualService(join(folder.path, "no-page"));
  const channels = ["engine-speed", "coolant", "intake-air", "load"];
  expect(await ask({ type: "channels", channels, pinned: ["coolant"] })).toMatchObject({ type: "done" });
  for (let round = 0; round < 2; round++) {
    expect(await ask({ ...connect, address: "bench:old-hatch" })).toMatchObject({ type: "done" });
    await clock.pass(20_000);
    await ask({ type: "disconnect" });
    const file =
      readdirSync(own)
        .filter((name) => name.endsWith(".ndjson"))
        .sort()
        .at(-1) ?? "";
    const text = readFileSync(join(own, file), "utf8");
    const asks = (request: string): number => text.split(`"ask":"${request}`).length - 1;
    expect(asks("010F")).toBeGreaterThan(0);
    expect(asks("010F")).toBeLessThan(asks("0105") / 2);
    expect(asks("0104")).toBeLessThan(asks("0105") / 2);
  }
  await close();
}, 120_000);

test("own parameters are read, and each recording says what they mean", async () => {
  await page.ask(connect);
  const file = page.status?.recording?.file ?? "";
  await page.until(() => page.lines(file).text.includes("621101"));
  await page.ask({ type: "disconnect" });
  const reading = read(file);
  expect(reading.info("crank-signal").name).toBe("Crankshaft signal counter");
  expect(reading.channels.find("crank-signal")?.answered).toBeGreaterThan(0);
}, 180_000);
