/** Codes, freeze frame, readiness, test results and clearing, asked in raw requests and decoded by hand. */
import { expect, test } from "vitest";
import { codes, fault, read, running } from "./faultRuns.ts";
import { listening, start } from "./readings.ts";
import { Typist } from "./support.ts";

const hex = (n: number): string => n.toString(16).toUpperCase().padStart(2, "0");

test("a healthy engine answers no codes: count 00 on CAN, three zero pairs elsewhere", async () => {
  const van = await listening(new Typist({ vehicle: "garden-van" }));
  expect((await van.ask("03")).filter((l) => l !== "43 00")).toEqual([]);
  const truck = await listening(new Typist({ vehicle: "hay-truck" }));
  expect(await truck.ask("03")).toEqual(["43 00 00 00 00 00 00"]);
  // Permanent codes came with CAN.
  expect(await truck.ask("0A")).toEqual(["NO DATA"]);
});

test("a stored code brings the lamp, its count and a freeze frame of that moment", async () => {
  const t = await listening(new Typist({ vehicle: "hay-truck", faults: fault("coolant-sensor-open") }));
  await t.wait(6);
  expect(await codes(t, "03")).toEqual(["0118"]);
  const status = await t.bytes("0101");
  expect(status[0]).toBe(0x81);
  // Reply 42, parameter, frame 00, data: code P0118, coolant -40 °C = 00.
  expect(await t.ask("020200")).toEqual(["42 02 00 01 18"]);
  expect(await t.ask("020500")).toEqual(["42 05 00 00"]);
  expect(await t.ask("021200")).toEqual(["NO DATA"]);
  const [map] = await t.ask("020000");
  expect(map).toMatch(/^42 00 00 /);
});

test("without a code the frame's causing code is 0000 and the rest is silent", async () => {
  const t = await listening(new Typist({ vehicle: "hay-truck" }));
  expect(await t.ask("020200")).toEqual(["42 02 00 00 00"]);
  expect(await t.ask("020500")).toEqual(["NO DATA"]);
});

test("clearing is refused while running; with the engine off it takes codes, frame, trims and readiness", async () => {
  const t = await running("garden-van", fault("ignition-one-cylinder"));
  expect((await codes(t, "03")).length).toBeGreaterThan(0);
  expect(t.bench.frozen).not.toBeNull();
  // 7F, service, 22: conditions not correct.
  expect(await t.ask("041")).toEqual(["7F 04 22"]);
  t.key("off");
  await t.wait(3);
  t.key("on");
  await t.wait(1);
  expect(await t.ask("041")).toEqual(["44"]);
  expect(await codes(t, "03")).toEqual([]);
  const engine = async (command: string): Promise<number[]> => {
    await t.raw("ATH1");
    const lines = (await t.ask(command)).filter((l) => l.startsWith("7E8"));
    await t.raw("ATH0");
    return (lines[0] ?? "")
      .split(" ")
      .slice(4)
      .map((b) => Number.parseInt(b, 16));
  };
  // Byte D of parameter 01: catalyst, evaporative, oxygen sensor, heater all not complete.
  expect((await engine("0101"))[3]).toBe(0x65);
  expect(await engine("0130")).toEqual([0]);
  expect(await engine("0131")).toEqual([0, 0]);
});

test("monitors complete as their conditions are met, the evaporative one last", async () => {
  const t = await listening(new Typist({ vehicle: "hay-truck" }));
  await t.ask("04");
  const open = async (): Promise<number> => (await t.bytes("0101"))[3] ?? 0;
  expect(await open()).toBe(0x65);
  await start(t);
  await t.wait(240);
  expect((await open()) & 0x60).toBe(0);
  t.bench.hold(2500);
  await t.wait(200);
  expect((await open()) & 0x01).toBe(0);
  expect((await open()) & 0x04).toBe(0x04);
  t.bench.hold(null);
  await t.wait(700);
  expect(await open()).toBe(0);
});

test("service 06 announces a monitor for each cylinder, units and limits as documented", async () => {
  const t = await listening(new Typist({ vehicle: "harbour-diesel" }));
  // 46 A0, then bits from A1 on: A1 to A5 = F8.
  expect(await t.ask("06A0")).toEqual(["46 A0 F8 00 00 00"]);
  const lines = (await t.ask("06A2")).map((l) => l.replace(/^[0-9A-F]: /, ""));
  expect(lines[0]).toBe("013");
  expect(lines.slice(1).join(" ").slice(0, 56)).toBe(
    "46 A2 0B 24 00 00 00 00 FF FF A2 0C 24 00 00 00 00 FF FF",
  );
  expect(await t.ask("06B0")).toEqual(["NO DATA"]);
});

test("29-bit answers come from 18 DA F1 10 and pad to eight bytes on the wire", async () => {
  const t = await listening(new Typist({ vehicle: "harbour-diesel", adapter: { showPadding: true } }));
  await t.raw("ATH1");
  expect(await t.ask("01051")).toEqual(["18 DA F1 10 03 41 05 3C 55 55 55 55"]);
  expect(await t.ask("ATDPN")).toEqual(["A7"]);
});

test("every parameter a vehicle announces has an encoder, on every vehicle", async () => {
  for (const vehicle of ["hay-truck", "harbour-diesel"]) {
    const t = await listening(new Typist({ vehicle }));
    for (const pid of t.bench.vehicle.modules[0]?.pids ?? []) {
      expect((await t.ask(`01${hex(pid)}1`))[0], `${vehicle} ${hex(pid)}`).toMatch(
        new RegExp(`^41 ${hex(pid)} `),
      );
    }
  }
});

test("a collapse of the supply resets the adapter, which says so and has forgotten its settings", async () => {
  const faults = [...fault("weak-battery"), ...fault("engine-tight", 0.6)];
  const t = await listening(new Typist({ vehicle: "hay-truck", faults }));
  await t.raw("ATH1");
  t.key("crank");
  await t.wait(1);
  expect(t.bench.supplyDips).toBeGreaterThan(0);
  t.heard = "";
  await t.type("ATRV\r");
  await t.clock.run(() => t.heard.endsWith(">"), 10_000);
  expect(t.heard).toContain("LV RESET");
  t.key("on");
  await t.wait(3);
  // Echo and linefeeds are on again, headers off.
  expect(await t.raw("ATI")).toBe("ATI\r\nBENCH ADAPTER 1.0\r\n\r\n>");
});

test("a module that is reset on a K-line has forgotten the session: the adapter starts it anew", async () => {
  const t = await listening(new Typist({ vehicle: "old-hatch" }));
  expect(Number.isNaN(await read(t, "rpm"))).toBe(false);
  t.key("off");
  await t.wait(2);
  expect(await t.ask("010C1")).toEqual(["BUS INIT: ...ERROR"]);
  t.key("on");
  await t.wait(1);
  expect(await t.ask("010C1")).toEqual(["BUS INIT: ...OK", "41 0C 00 00"]);
});
