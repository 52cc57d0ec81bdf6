/**
 * The adapter in front of the bench vehicle, spoken to in raw characters. The dialogue's words are those of
 * the de facto command set, from memory; bytes are decoded here by hand.
 */
import { expect, test } from "vitest";
import { Typist } from "./support.ts";

test("a reset says who it is, with echo and linefeeds on, and ends with the prompt", async () => {
  const t = new Typist({ vehicle: "garden-van" });
  expect(await t.raw("ATZ")).toBe("ATZ\r\n\r\n\r\nBENCH ADAPTER 1.0\r\n\r\n>");
  expect(t.clock.now()).toBeGreaterThan(500);
});

test("echo, linefeeds, spaces and headers change what is printed and nothing else", async () => {
  const t = new Typist({ vehicle: "garden-van" });
  t.key("on");
  await t.wait(1);
  await t.raw("ATZ");
  expect(await t.raw("ATE0")).toBe("ATE0\r\nOK\r\n\r\n>");
  expect(await t.raw("ATL0")).toBe("OK\r\r>");
  await t.raw("0100");
  expect(await t.raw("010C1")).toBe("41 0C 00 00 \r\r>");
  await t.raw("ATH1");
  expect(await t.raw("0105 1")).toBe("7E8 03 41 05 3C \r\r>");
  await t.raw("ATS0");
  expect(await t.raw("01051")).toBe("7E80341053C\r\r>");
  expect(await t.raw(" a t e 1 ")).toBe("OK\r\r>");
  expect(await t.raw("01051")).toBe("01051\r7E80341053C\r\r>");
});

test("a bare carriage return repeats the last command", async () => {
  const t = await new Typist({ vehicle: "garden-van" }).quiet();
  t.key("on");
  await t.wait(1);
  await t.raw("0100");
  await t.raw("01051");
  expect(await t.raw("")).toBe("41 05 3C \r\r>");
});

test("what is not understood is answered with a question mark", async () => {
  const t = await new Typist({ vehicle: "old-hatch" }).quiet();
  for (const wrong of ["ATXY", "HELLO", "01 0G", "ATSPZ", "0102030405060708AA"]) {
    expect(await t.ask(wrong)).toEqual(["?"]);
  }
});

test("a search finds the vehicle's protocol, tells it, and does not search again", async () => {
  const t = await new Typist({ vehicle: "garden-van" }).quiet();
  t.key("on");
  await t.wait(1);
  expect((await t.ask("0100"))[0]).toBe("SEARCHING...");
  expect(await t.ask("ATDPN")).toEqual(["A6"]);
  expect((await t.ask("0100"))[0]).toMatch(/^41 00 /);
});

test("with the key off a search ends in UNABLE TO CONNECT", async () => {
  const t = await new Typist({ vehicle: "old-hatch" }).quiet();
  expect(await t.ask("0100")).toEqual(["SEARCHING...", "UNABLE TO CONNECT"]);
});

test("ISO 9141-2 is started at 5 bit/s once, and its replies carry header and checksum", async () => {
  const t = await new Typist({ vehicle: "old-hatch" }).quiet();
  t.key("on");
  await t.wait(1);
  await t.raw("ATSP3");
  const begun = t.clock.now();
  expect((await t.ask("0100"))[0]).toBe("BUS INIT: ...OK");
  // 300 ms idle, 10 bits at 5 bit/s, then the key bytes: ISO 9141-2, from memory.
  expect(t.clock.now() - begun).toBeGreaterThan(2400);
  await t.raw("ATH1");
  // 48 + 6B + 10 + 41 + 0C = 0110h: last byte 10h.
  expect(await t.ask("010C1")).toEqual(["48 6B 10 41 0C 00 00 10"]);
});

test("a protocol the vehicle does not speak fails in its own words", async () => {
  const hatch = await new Typist({ vehicle: "old-hatch" }).quiet();
  hatch.key("on");
  await hatch.wait(1);
  await hatch.raw("ATSP6");
  expect(await hatch.ask("0100")).toEqual(["CAN ERROR"]);
  await hatch.raw("ATSP2");
  expect(await hatch.ask("0100")).toEqual(["NO DATA"]);
  const van = await new Typist({ vehicle: "garden-van" }).quiet();
  van.key("on");
  await van.wait(1);
  await van.raw("ATSP3");
  expect(await van.ask("0100")).toEqual(["BUS INIT: ...ERROR"]);
});

test("an unsupported parameter brings NO DATA, and the K-line session lives on", async () => {
  const t = await new Typist({ vehicle: "old-hatch" }).quiet();
  t.key("on");
  await t.wait(1);
  await t.raw("0100");
  expect(await t.ask("0110")).toEqual(["NO DATA"]);
  expect(await t.ask("0105")).toEqual(["41 05 3C"]);
});

test("a character that comes before the prompt stops what was going on", async () => {
  const t = await new Typist({ vehicle: "old-hatch" }).quiet();
  t.key("on");
  await t.wait(1);
  await t.raw("0100");
  t.heard = "";
  await t.type("010C\r");
  await t.clock.pass(40);
  await t.type("x");
  await t.clock.run(() => t.heard.endsWith(">"));
  expect(t.heard).toBe("STOPPED\r\r>");
  expect(await t.ask("010C1")).toEqual(["41 0C 00 00"]);
});

test("two modules answer one request on CAN, and the reply count cuts the second off", async () => {
  const t = await new Typist({ vehicle: "garden-van" }).quiet();
  t.key("on");
  await t.wait(1);
  await t.raw("0100");
  await t.raw("ATH1");
  const both = await t.ask("010C");
  expect(both.map((line) => line.slice(0, 3)).sort()).toEqual(["7E8", "7E9"]);
  expect(await t.ask("010C1")).toHaveLength(1);
});

test("six parameters in one request come back as one long answer on CAN", async () => {
  const t = await new Typist({ vehicle: "garden-van" }).quiet();
  t.key("on");
  await t.wait(1);
  await t.raw("0100");
  await t.raw("ATH1");
  const lines = (await t.ask("010C0D050F11331")).filter((line) => line.startsWith("7E8"));
  // 41 + (0C a b)(0D a)(05 a)(0F a)(11 a)(33 a) = 14 bytes = 0Eh, first frame 6, one frame of 7, one of 1.
  expect(lines.map((line) => line.slice(0, 9))).toEqual(["7E8 10 0E", "7E8 21 05", "7E8 22 65"]);
  expect(lines[0]).toBe("7E8 10 0E 41 0C 00 00 0D 00");
});

test("the identification number is invented and its check digit is right", async () => {
  const t = await new Typist({ vehicle: "garden-van" }).quiet();
  t.key("on");
  await t.wait(1);
  await t.raw("0100");
  const lines = await t.ask("0902");
  expect(lines[0]).toBe("014");
  const bytes = lines.slice(1).flatMap((line) => line.slice(3).match(/[0-9A-F]{2}/g) ?? []);
  const vin = bytes
    .slice(3, 20)
    .map((two) => String.fromCharCode(Number.parseInt(two, 16)))
    .join("");
  expect(vin).toMatch(/^0BV[A-HJ-NPR-Z0-9]{14}$/);
  // 49 CFR 565, tables III to V, worked here letter by letter: 0BVGV36V?S0000017.
  // 0*8 + B2*7 + V5*6 + G7*5 + V5*4 + 3*3 + 6*2 + V5*10 + S2*9 + 1*3 + 7*2 = 205; 205 mod 11 = 7.
  expect(vin[8]).toBe("7");
});

test("on ISO 9141-2 the identification number comes in five messages with three zero bytes ahead", async () => {
  const t = await new Typist({ vehicle: "old-hatch" }).quiet();
  t.key("on");
  await t.wait(1);
  await t.raw("0100");
  const lines = await t.ask("0902");
  expect(lines).toHaveLength(5);
  expect(lines[0]).toBe("49 02 01 00 00 00 30");
  expect(lines.map((line) => line.slice(0, 8))).toEqual([
    "49 02 01",
    "49 02 02",
    "49 02 03",
    "49 02 04",
    "49 02 05",
  ]);
});

test("an exchange on ISO 9141-2 takes no less than the bus arithmetic, and one on CAN far less", async () => {
  const rate = async (vehicle: string, command: string): Promise<number> => {
    const t = await new Typist({ vehicle, adapter: { baud: 115_200 } }).quiet();
    t.key("on");
    await t.wait(1);
    await t.raw("0100");
    await t.raw(command);
    const begun = t.clock.now();
    for (let i = 0; i < 20; i++) await t.raw(command);
    return (t.clock.now() - begun) / 20;
  };
  // Request 6 bytes with 5 ms between, answer not before 25 ms, 8 bytes back, 55 ms rest: 118.5 ms.
  expect(await rate("old-hatch", "010C1")).toBeGreaterThanOrEqual(118);
  expect(await rate("old-hatch", "010C1")).toBeLessThan(150);
  expect(await rate("garden-van", "010C1")).toBeLessThan(30);
  // Without the count the adapter waits for other modules.
  expect(await rate("garden-van", "010C")).toBeGreaterThan(25);
});

test("every announced parameter is answered and no other", async () => {
  for (const vehicle of ["garden-van", "old-hatch"]) {
    const t = await new Typist({ vehicle }).quiet();
    t.key("on");
    await t.wait(1);
    await t.raw("0100");
    await t.raw("ATH0");
    const engine = (lines: string[]): string | undefined => lines.find((l) => l.startsWith("41"));
    for (const base of [0x00, 0x20, 0x40, 0x60]) {
      const hex = (n: number): string => n.toString(16).toUpperCase().padStart(2, "0");
      const map = engine(await t.ask(`01${hex(base)}1`));
      const bytes = (map?.match(/[0-9A-F]{2}/g) ?? []).slice(2).map((b) => Number.parseInt(b, 16));
      for (let i = 0; i < 32; i++) {
        const announced = ((bytes[i >> 3] ?? 0) & (0x80 >> (i & 7))) !== 0;
        const answer = engine(await t.ask(`01${hex(base + i + 1)}1`));
        expect(answer !== undefined, `${vehicle} ${hex(base + i + 1)}`).toBe(announced);
      }
    }
  }
});

test("the same vehicle, seed and script give the same characters", async () => {
  const session = async (): Promise<string> => {
    const t = await new Typist({ vehicle: "old-hatch", seed: 5 }).quiet();
    t.key("on");
    await t.wait(2);
    await t.raw("0100");
    t.key("crank");
    let all = "";
    for (let i = 0; i < 30; i++) all += (await t.raw("010C1")) + (await t.raw("ATRV"));
    return all;
  };
  expect(await session()).toBe(await session());
});
