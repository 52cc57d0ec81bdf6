/** A hidden fault over a real WebSocket: nothing that is told or kept names it, until it is asked for. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { practiceCases } from "../../adapters/bench/index.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage as Page } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";

let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;
let page: Page;

beforeEach(async () => {
  folder = tempFolder();
  server = await startServer(withoutPage(folder.path));
  page = await Page.open(server.url);
});
afterEach(async () => {
  page.close();
  await server.close();
  folder.remove();
});

test("a guided case: neither status nor recording names the fault; the debrief does", async () => {
  const one = practiceCases.find((c) => c.id === "case-slowly");
  if (one === undefined) throw new Error("no such case");
  await page.ask({ type: "connect", address: `bench:${one.vehicle},${one.id}=1`, facts: {} });
  expect(page.status).toMatchObject({ address: `bench:${one.vehicle}`, bench: { faults: [], hidden: true } });
  const measured = await page.ask({ type: "measure", check: "fuel-pressure", cylinder: null });
  expect(measured).toMatchObject({ type: "done", reading: { unit: "kPa", cylinder: null } });
  const odd = await page.ask({ type: "measure", check: "crystal-ball", cylinder: null });
  expect(odd).toMatchObject({ failure: { code: "bench-unknown" } });
  expect(JSON.stringify(page.status)).not.toContain(one.fault.name);
  const revealed = await page.ask({ type: "reveal" });
  expect(revealed).toMatchObject({
    revealed: [{ name: "Starter cable with resistance", causes: ["cable-drop"] }],
  });
  await page.until(() => page.status?.bench?.hidden === false);
  expect(page.status?.bench?.faults).toEqual([one.fault.name]);
  await page.ask({ type: "disconnect" });
  const files = readdirSync(folder.path).filter((name) => name.endsWith(".ndjson"));
  expect(files).toHaveLength(1);
  const text = readFileSync(join(folder.path, files[0] ?? ""), "utf8");
  for (const word of [one.fault.name, one.id, "surprise"]) expect(text).not.toContain(word);
}, 180_000);

test("without a bench vehicle there is nothing to measure or to tell", async () => {
  expect(await page.ask({ type: "reveal" })).toMatchObject({ failure: { code: "wrong-use" } });
}, 180_000);
