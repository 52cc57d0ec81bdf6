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

test("service 05 before CAN: constants, and what a working sensor did between its limits; not on CAN", async () => {
  const t = await running("hay-truck");
  // Parameter 13 is 33: sensors 1 and 2 of both banks, so bit 0 is bank 1 ahead of the catalyst.
  expect(await t.ask("050001")).toEqual(["45 00 01 FF C0 00 00"]);
  // 5 mV a bit: 0.42 V is 84 = 54, 0.48 V is 96 = 60.
  expect(await t.ask("050101")).toEqual(["45 01 01 54"]);
  expect(await t.ask("050201")).toEqual(["45 02 01 60"]);
  const [, lowest = 255, , lowMost = 0] = (await t.bytes("050701")).map((b) => b / 200);
  const [, highest = 0, highLeast = 9] = (await t.bytes("050801")).map((b) => b / 200);
  expect(lowest).toBeLessThan(lowMost);
  expect(highest).toBeGreaterThan(highLeast);
  // A period of one to a few seconds at idle, 0.04 s a bit (common practice).
  const period = ((await t.bytes("050A01"))[1] ?? 0) * 0.04;
  expect(period).toBeGreaterThan(0.3);
  expect(period).toBeLessThan(6);
  expect(await t.ask("050140")).toEqual(["NO DATA"]);
  const van = await listening(new Typist({ vehicle: "garden-van" }));
  expect(await van.ask("050101")).toEqual(["NO DATA"]);
});

test("service 06 before CAN: one message a component with value and limit, misfires by cylinder among them", async () => {
  const t = await running("hay-truck", fault("ignition-one-cylinder"));
  expect(await t.ask("0600")).toEqual(["46 00 FF E0 00 00 00"]);
  const counts = (await t.ask("0603")).map((line) => Number.parseInt(line.slice(9, 14).replace(" ", ""), 16));
  expect(counts).toHaveLength(8);
  expect(Math.max(...counts)).toBe(counts[6]);
  expect(counts[6]).toBeGreaterThan(100);
  const catalysts = await t.ask("0601");
  expect(catalysts.map((line) => line.slice(0, 8))).toEqual(["46 01 01", "46 01 02"]);
});

test("service 06 on CAN tells the front sensors' swing and the catalysts, zeros before they have run", async () => {
  const t = await listening(new Typist({ vehicle: "garden-van" }));
  const cold = await t.ask("0601");
  // 46, 01, 07, unit 0B, three zero pairs, 01, 08, ...
  expect(cold.map((l) => l.replace(/^[0-9A-F]: /, "")).join(" ")).toContain(
    "46 01 07 0B 00 00 00 00 00 00 01 08",
  );
  await start(t);
  await t.wait(200);
  const bytes = (await t.ask("0601"))
    .filter((l) => /^[0-9A-F]: /.test(l))
    .flatMap((l) => l.slice(3).trim().split(" "));
  const mv = (at: number): number => Number.parseInt(`${bytes[at] ?? ""}${bytes[at + 1] ?? ""}`, 16);
  expect(mv(4)).toBeLessThan(mv(8));
  expect(mv(13)).toBeGreaterThan(mv(15));
});

test("service 09: verification number, counters and name where the vehicle is young enough, by bus and fuel", async () => {
  const van = await listening(new Typist({ vehicle: "garden-van" }));
  // 02, 04, 06, 08, 0A from bit 1 on: 0101 0101 01.. = 55 40.
  expect(await van.ask("0900")).toEqual(["49 00 55 40 00 00"]);
  const text = (await van.ask("090A")).slice(1).flatMap((l) => l.slice(3).trim().split(" "));
  expect(String.fromCharCode(...text.slice(3, 6).map((b) => Number.parseInt(b, 16)))).toBe("ECM");
  expect((await van.ask("0906"))[0]).toMatch(/^49 06 01 (?:[0-9A-F]{2} ?){4}$/);
  // 20 counters of two bytes, and three bytes ahead: 43 = 02B.
  expect((await van.ask("0908"))[0]).toBe("02B");
  const diesel = await listening(new Typist({ vehicle: "harbour-diesel" }));
  expect(await diesel.ask("0908")).toEqual(["NO DATA"]);
  expect((await diesel.ask("090B"))[0]).toBe("023");
  const truck = await listening(new Typist({ vehicle: "hay-truck" }));
  // Ten messages of two counters each are announced, and come.
  expect(await truck.ask("0907")).toEqual(["49 07 0A"]);
  expect(await truck.ask("0908")).toHaveLength(10);
  const hatch = await listening(new Typist({ vehicle: "old-hatch" }));
  expect(await hatch.ask("0906")).toEqual(["NO DATA"]);
});

test("in-use counters: a start is a cycle, a monitor that has run counts once, clearing leaves them", async () => {
  const t = await listening(new Typist({ vehicle: "hay-truck" }));
  const counters = async (): Promise<number[]> => {
    const bytes = (await t.ask("0908")).flatMap((l) =>
      l
        .slice(9)
        .split(" ")
        .map((b) => Number.parseInt(b, 16)),
    );
    return bytes.flatMap((b, i) => (i % 2 === 0 ? [256 * b + (bytes[i + 1] ?? 0)] : []));
  };
  const before = await counters();
  await start(t);
  await t.wait(240);
  t.key("off");
  await t.wait(3);
  t.key("on");
  await t.wait(1);
  await t.ask("04");
  const after = await counters();
  // In their order: conditions, cycles, catalyst b1, b2, oxygen b1 (completed, conditions), ...
  expect(after[1]).toBe((before[1] ?? 0) + 1);
  expect(after[6]).toBe((before[6] ?? 0) + 1);
  expect(after[2]).toBe(before[2]);
});
