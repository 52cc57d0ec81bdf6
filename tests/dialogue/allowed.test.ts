import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { isPermitted, mayBeDefined, permit } from "../../adapters/dialogue/allowed.ts";
import { Dialogue } from "../../adapters/dialogue/dialogue.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { mayLeave } from "../support/mayLeave.ts";
import { Peer } from "../support/peer.ts";

describe("what may be sent", () => {
  test.each([
    "0100",
    "010C1",
    "010C0D05110B0F3",
    "020200",
    "03",
    "032",
    "0A1",
    "0902",
    "09025",
    "050101",
    "06A2",
  ])("%j is a reading request", (request) => {
    expect(permit(request)).toBe(request);
  });

  test.each([
    "",
    "04",
    "041",
    "0400",
    "08",
    "0801",
    "10",
    "1003",
    "2701",
    "2E1234FF",
    "2F123403",
    "31010203",
    "3E",
    "22F190",
    "2101",
    "01",
    "010C04\r04",
    "010C\r04",
    "03\n04",
    " 03",
    "03 ",
    "0x03",
    "010c",
    "ATMA",
    "ATSH7E0",
    "ATPP01SV01",
    "ATCRA7E8",
    "ATSP0\r04",
    "ATZ ",
    "atz",
    "0100040404040404",
    "03040",
    ">",
  ])("%j is refused", (request) => {
    expect(() => permit(request)).toThrow(expect.objectContaining({ code: "request-refused" }) as Error);
  });

  test("a read by identifier passes only as the person defined it", () => {
    const reads = new Set(["22F190", "2101"]);
    expect(isPermitted("22F190", reads)).toBe(true);
    expect(isPermitted("22F1901", reads)).toBe(true);
    expect(isPermitted("22F191", reads)).toBe(false);
    expect(isPermitted("2E1234", new Set(["2E1234"]))).toBe(false);
    expect(mayBeDefined("2E1234")).toBe(false);
    expect(mayBeDefined("22F190")).toBe(true);
  });
});

test("random requests: nothing but the list ever reaches the adapter", async () => {
  const services = fc.constantFrom(
    "01",
    "03",
    "04",
    "08",
    "09",
    "0A",
    "14",
    "22",
    "27",
    "2E",
    "31",
    "AT",
    "ATZ",
    "ATE0",
    "010C",
    "ATSP",
    "\r04\r",
    "",
  );
  const rest = fc.string({
    unit: fc.constantFrom(...Array.from("0123456789ABCDEFabzT \r\n>\0")),
    maxLength: 10,
  });
  const request = fc.tuple(services, rest).map(([service, bytes]) => service + bytes);
  const clock = new VirtualClock();
  const peer = new Peer({ clock });
  const dialogue = new Dialogue(await peer.open(), clock);
  await fc.assert(
    fc.asyncProperty(request, async (command) => {
      const before = peer.received.length;
      const asked = dialogue.ask(command).then(
        () => "sent",
        (error: unknown) => (isCranksideError(error, "request-refused") ? "refused" : "failed"),
      );
      await clock.run(asked);
      const outcome = await asked;
      expect(outcome).toBe(isPermitted(command) ? "sent" : "refused");
      if (outcome === "refused") expect(peer.received).toHaveLength(before);
    }),
    { numRuns: 600 },
  );
  expect(peer.received.length).toBeGreaterThan(20);
  expect(peer.raw.split("\r").filter((sent) => sent !== "" && !mayLeave(sent))).toEqual([]);
  // What is left of a call for the prompt that interrupted something is a command to nobody.
  expect(peer.received.filter((command) => command !== "TRV" && !mayLeave(command))).toEqual([]);
  await dialogue.close();
});

describe("reading on UDS (SAE J1979-2)", () => {
  test("the closed forms pass, with or without a reply count", () => {
    for (const command of [
      ...["22F810", "22F40C", "22F40CF40DF405", "22F40CF40DF4052", "22F802", "22F80A1"],
      ...["19020C", "194233081E", "194233041E", "195533", "19563301", "1904033531FF", "1906033531FF"],
    ])
      expect(isPermitted(command), command).toBe(true);
  });

  test("nothing beside them: no fourth identifier, no other identifier, no other report, no session, no clearing", () => {
    for (const command of [
      ...["22F40CF40DF405F40F", "22F190", "22F187", "22F811", "22F803", "22F600", "22F500", "221234"],
      ...[
        "1902FF",
        "1903",
        "190A",
        "191A10",
        "194233FFFF",
        "194210081E",
        "195510",
        "1904033531",
        "1904033531FE",
      ],
      ...[
        "14FFFF33",
        "14FFFFFF",
        "14000000",
        "1001",
        "1003",
        "1085",
        "3E00",
        "3E80",
        "1101",
        "2701",
        "2E1101",
      ],
      ...["2F110103", "3101FF00", "8502", "2801", "34", "36", "2C01"],
    ])
      expect(isPermitted(command), command).toBe(false);
  });
});
