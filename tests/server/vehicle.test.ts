/** What a page may ask of the vehicle beside its readings: over a real WebSocket, on the bench vehicle. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { readDefinedParameters } from "../../shared/defined.ts";
import { foldSurvey } from "../../shared/survey.ts";
import { Reading } from "../../src/reading/index.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage as Page } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";

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
}, 30_000);

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
}, 30_000);

test("a channel that the person wants more often is, from then on and behind the next connecting", async () => {
  const asks = (file: string, request: string): number =>
    page.lines(file).text.split(`"ask":"${request}`).length - 1;
  const channels = ["engine-speed", "coolant", "intake-air", "load"];
  expect(await page.ask({ type: "channels", channels, pinned: ["coolant"] })).toMatchObject({ type: "done" });
  for (let round = 0; round < 2; round++) {
    await page.ask({ ...connect, address: "bench:old-hatch" });
    const file = page.status?.recording?.file ?? "";
    await page.until(() => asks(file, "0105") >= 8);
    expect(asks(file, "010F")).toBeGreaterThan(0);
    expect(asks(file, "010F")).toBeLessThan(asks(file, "0105") / 2);
    expect(asks(file, "0104")).toBeLessThan(asks(file, "0105") / 2);
    await page.ask({ type: "disconnect" });
  }
}, 90_000);

test("own parameters are read, and each recording says what they mean", async () => {
  await page.ask(connect);
  const file = page.status?.recording?.file ?? "";
  await page.until(() => page.lines(file).text.includes("621101"));
  await page.ask({ type: "disconnect" });
  const reading = read(file);
  expect(reading.info("crank-signal").name).toBe("Crankshaft signal counter");
  expect(reading.channels.find("crank-signal")?.answered).toBeGreaterThan(0);
}, 30_000);
