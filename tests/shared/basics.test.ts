import { clockTenths, clockText } from "../../shared/times.ts";
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { pause } from "../../shared/clock.ts";
import { CranksideError, errorCodes, isCranksideError, messageOf } from "../../shared/errors.ts";
import { isProtocolId, protocolByNumber, protocolIds, protocols } from "../../shared/protocols.ts";

test("an error says what, expected, found, where and what to do, on one line", () => {
  const cause = new Error("deep");
  const error = new CranksideError(
    "port-busy",
    "the port is\nbusy",
    { expected: "a free port", found: "one in use", where: "/dev/x", advice: "Close the other program." },
    cause,
  );
  expect(error.message).toBe(
    "the port is busy; expected a free port; found one in use; at /dev/x. Close the other program.",
  );
  expect(error.cause).toBe(cause);
  expect(error).toBeInstanceOf(Error);
  expect(isCranksideError(error)).toBe(true);
  expect(isCranksideError(error, "port-busy")).toBe(true);
  expect(isCranksideError(error, "port-missing")).toBe(false);
  expect(isCranksideError(cause)).toBe(false);
  expect("cause" in new CranksideError("port-busy", "x")).toBe(false);
});

test("the message of anything that was thrown", () => {
  expect(messageOf(new Error("deep"))).toBe("deep");
  expect(messageOf("thrown text")).toBe("thrown text");
  expect(messageOf(undefined)).toBe("undefined");
});

test("error codes are unique", () => {
  expect(new Set(errorCodes).size).toBe(errorCodes.length);
});

test("the adapter's numbers of the nine protocols (de facto, from memory)", () => {
  expect(protocolIds.map((id) => protocols[id].number)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9]);
  for (const id of protocolIds) {
    expect(protocols[id].id).toBe(id);
    expect(protocolByNumber(protocols[id].number)).toBe(protocols[id]);
    expect(protocols[id].family === "can").toBe(protocols[id].idBits !== undefined);
  }
  expect(protocolByNumber(0)).toBeUndefined();
  expect(isProtocolId("toString")).toBe(false);
});

test("bus speeds: J1850 10.4 and 41.6 kbit/s, K-line 10400 bit/s, CAN 250 and 500 kbit/s", () => {
  expect(protocols.vpw.bitsPerSecond).toBe(10_400);
  expect(protocols.pwm.bitsPerSecond).toBe(41_600);
  for (const id of ["iso9141", "kwp-slow", "kwp-fast"] as const)
    expect(protocols[id].bitsPerSecond).toBe(10_400);
  expect(protocols["can11-500"].bitsPerSecond).toBe(500_000);
  expect(protocols["can29-250"].bitsPerSecond).toBe(250_000);
});

test("a pause lasts as long as the clock says", async () => {
  const clock = new VirtualClock();
  let over = false;
  const pausing = pause(clock, 50).then(() => {
    over = true;
  });
  await clock.pass(49);
  expect(over).toBe(false);
  await clock.pass(1);
  await pausing;
  expect(over).toBe(true);
});

test("times of the clock: whole seconds that passed, or rounded to a tenth", () => {
  expect([0, 41_900, 725_000, 3_723_000, -5].map(clockText)).toEqual([
    "0:00",
    "0:41",
    "12:05",
    "1:02:03",
    "0:00",
  ]);
  expect([41_349, 59_960, 62_500, 3_600_000].map(clockTenths)).toEqual([
    "0:41.3",
    "1:00.0",
    "1:02.5",
    "1:00:00.0",
  ]);
});
