/** Air on one bank, joints taped over, purge and exhaust gas led back: what the channels must show. */
import { expect, test } from "vitest";
import { fault, heldTrim, read, running, trim } from "./faultRuns.ts";
import { mean, most, sample, watch } from "./readings.ts";

test.each(["garden-van", "hay-truck"])(
  "%s, unmetered-air-bank: that bank lean at idle and hardly at speed, the other right, whatever meters the air",
  async (id) => {
    const t = await running(id, fault("unmetered-air-bank", 0.6));
    const idle = [await trim(t, 1), await trim(t, 2)] as const;
    // One bank only: that bank's manifold or sensor (article on fuel trim diagnostics, and common practice).
    expect(Math.abs(idle[0])).toBeLessThan(5);
    expect(idle[1]).toBeGreaterThan(idle[0] + 10);
    // A hole's flow hardly grows with speed, the engine's does: its share falls.
    const held = (await heldTrim(t, 2500, 2)) - (await heldTrim(t, 2500, 1));
    expect(held).toBeLessThan(0.5 * (idle[1] - idle[0]));
  },
);

test("intake-seal: taped over for a minute, the lean bank's trims come back, and go again when it is laid open", async () => {
  const t = await running("garden-van", fault("unmetered-air-bank", 0.6));
  const between = async (): Promise<number> => (await trim(t, 2, 10)) - (await trim(t, 1, 10));
  const open = await between();
  t.bench.act({ act: "intake-seal", on: true });
  await t.wait(40);
  const sealed = await between();
  t.bench.act({ act: "intake-seal", on: false });
  await t.wait(40);
  expect(open).toBeGreaterThan(10);
  expect(sealed).toBeLessThan(0.3 * open);
  expect(await between()).toBeGreaterThan(0.8 * open);
});

test("a healthy van's purge valve is shut cold and in open loop, works when warm, and moves the trims little", async () => {
  const purge = async (t: Awaited<ReturnType<typeof running>>): Promise<number> =>
    ((await t.bytes("012E1"))[0] ?? 0) / 2.55;
  const cold = await running("garden-van", [], 20);
  expect(await purge(cold)).toBe(0);
  const warm = await running("garden-van");
  expect(await purge(warm)).toBeGreaterThan(0);
  const before = await trim(warm);
  warm.bench.hold(2500);
  await warm.wait(60);
  expect(await purge(warm)).toBeGreaterThan(2);
  // Within the 8 per cent of a healthy engine (article on fuel trim diagnostics).
  expect(Math.abs(before)).toBeLessThan(8);
  expect(Math.abs(await trim(warm))).toBeLessThan(8);
});

test("harbour-diesel leads exhaust gas back at part load, none cold and little under load, and breathes less for it", async () => {
  const share = async (t: Awaited<ReturnType<typeof running>>): Promise<number> =>
    ((await t.bytes("012C1"))[0] ?? 0) / 2.55;
  const cold = await running("harbour-diesel", [], 20);
  expect(await share(cold)).toBe(0);
  const warm = await running("harbour-diesel", [], 85);
  expect(await share(warm)).toBeGreaterThan(10);
  const { engine } = warm.bench;
  // What the meter misses is what came back: speed density of what the cylinders breathe, less that share.
  const air = await sample(warm, ["airFlow"], 10);
  const ratio = mean(await watch(warm, 2, () => engine.manifold.metered * 1000)) / mean(air.airFlow);
  expect(Math.abs(ratio - 1)).toBeLessThan(0.1);
  const shares = async (): Promise<number[]> => watch(warm, 12, () => engine.orders.egr);
  warm.bench.drive(110);
  expect(most(await shares())).toBeLessThan(0.3);
  expect(Math.min(...(await shares()))).toBeLessThan(0.05);
  expect(await read(warm, "rpm")).toBeGreaterThan(1000);
});
