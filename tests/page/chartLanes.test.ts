/** The lanes of the chart: own ones, those a sign asks for and the way back, and what is asked of the vehicle for them. */
import { expect, test } from "vitest";
import { ChartLanes, type LanesPage } from "../../src/page/lib/chart/chartLanes.svelte.ts";
import { usualSettings, type Settings } from "../../src/page/lib/app/settings.ts";
import { usualLanes } from "../../src/page/lib/chart/lanes.ts";
import { settled } from "./fakeServer.ts";

const read = ["engine-speed", "coolant", "stft-1"];

function made(live: boolean, own: Partial<Settings> = {}) {
  const asked: unknown[] = [];
  let current: Settings = { ...usualSettings, ...own };
  const channels = { channels: read, find: () => ({ answered: 1 }) };
  const shown = { recording: { calm: { reading: { channels } } } };
  const page = {
    settings: {
      get current() {
        return current;
      },
      change: (wish: Partial<Settings>) => (current = { ...current, ...wish }),
    },
    server: { status: { modules: [], channels: [] } },
    shown,
    live: live ? shown : null,
  };
  const lanes = new ChartLanes(page as unknown as LanesPage, (ask) => {
    asked.push(ask);
    return Promise.resolve();
  });
  return { lanes, asked, settings: () => current };
}

test("own lanes stand there as far as they can be read, else the usual ones", () => {
  const own = made(false, { lanes: [["coolant"], ["never-read"]] });
  expect(own.lanes.now).toEqual([["coolant"]]);
  expect(made(false, { lanes: [["never-read"]] }).lanes.now).toEqual(usualLanes(read));
  expect(made(false).lanes.now).toEqual(usualLanes(read));
});

test("what a sign asks for is lent, once, and the lanes before it come back", () => {
  const one = made(false, { lanes: [["coolant"]] });
  one.lanes.lend(["coolant"]);
  expect([one.lanes.lent, one.lanes.now]).toEqual([false, [["coolant"]]]);
  one.lanes.lend(["engine-speed", "never-read"]);
  one.lanes.lend(["stft-1"]);
  expect(one.lanes.lent).toBe(true);
  expect(one.lanes.now.flat()).toContain("stft-1");
  one.lanes.back();
  expect([one.lanes.lent, one.settings().lanes]).toEqual([false, [["coolant"]]]);
  const usual = made(false);
  usual.lanes.lend(["coolant"]);
  usual.lanes.back();
  expect(usual.settings().lanes).toBeNull();
});

test("the vehicle is asked for them while they are live, and for nothing while they are not", async () => {
  const finished = made(false);
  await finished.lanes.arrange([["coolant"]]);
  await finished.lanes.pin("coolant");
  expect([finished.asked, finished.settings().pinned]).toEqual([[], ["coolant"]]);
  // All that the lanes can show must be possible while live: modules tell, here none does.
  const live = made(true);
  await live.lanes.arrange([["coolant"]]);
  live.lanes.meet();
  await settled();
  expect(live.asked).toEqual([
    { type: "channels", channels: ["coolant"], pinned: [] },
    { type: "channels", channels: ["coolant"], pinned: [] },
  ]);
});
