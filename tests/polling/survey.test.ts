/** What the modules say, from literal replies. Published examples name their source; the rest is from memory or invented. */
import { describe, expect, test } from "vitest";
import { foldSurvey, type SurveyAnswer } from "../../shared/survey.ts";
import { checkDigit, vinCheck } from "../../shared/vin.ts";
import { engineModule, gearModule, type PeerModule } from "../support/peer.ts";
import { listening, rig } from "./support.ts";

const answer = (module: string, hex: string): SurveyAnswer => ({
  module,
  data: Uint8Array.from(hex.replace(/\s/g, "").match(/../g) ?? [], (byte) => parseInt(byte, 16)),
});

describe("answers in words", () => {
  test("published: pending codes 10 0A 47 04 01 07 02 07 / 21 03 07 43 07", () => {
    // Stack Overflow question 36377223.
    const [module] = foldSurvey([answer("7E8", "47 04 01 07 02 07 03 07 43 07")], true, null).modules;
    expect(module?.pending).toEqual(["P0107", "P0207", "P0307", "C0307"]);
    expect(module?.stored).toBeNull();
  });

  test("published: P0102, U1600 and B2245 of two modules side by side", () => {
    // The same question.
    const survey = foldSurvey([answer("7E8", "47 02 01 02 D6 00"), answer("7E9", "47 01 A2 45")], true, null);
    expect(survey.modules.map(({ module, pending }) => [module, pending])).toEqual([
      ["7E8", ["P0102", "U1600"]],
      ["7E9", ["B2245"]],
    ]);
  });

  test("outside CAN: three codes a message, zeros are padding, messages add up", () => {
    const answers = [answer("10", "43 01 33 01 35 03 00"), answer("10", "43 03 01 00 00 00 00")];
    const [module] = foldSurvey(answers, false, null).modules;
    expect(module?.stored).toEqual(["P0133", "P0135", "P0300", "P0301"]);
  });

  test("readiness 41 01 81 07 65 04", () => {
    // From memory: lamp on, one code, spark; evaporative system not complete.
    const [module] = foldSurvey([answer("7E8", "41 01 81 07 65 04")], true, null).modules;
    expect(module?.readiness).toMatchObject({ lamp: true, storedCodes: 1, ignition: "spark" });
    const open = module?.readiness?.monitors.filter(({ state }) => state === "not complete");
    expect(open?.map(({ name }) => name)).toEqual(["evaporative system"]);
  });

  test("readiness of this cycle stands apart from that since clearing: 41 01 81 07 65 04 and 41 41 00 07 25 21", () => {
    // From memory: in 41 a set bit of C is a monitor that is enabled this cycle, in D one that is not complete.
    const answers = [answer("7E8", "41 01 81 07 65 04"), answer("7E8", "41 41 00 07 25 21")];
    const [module] = foldSurvey(answers, true, null).modules;
    const open = (of: "readiness" | "readinessThisCycle"): unknown =>
      module?.[of]?.monitors.filter(({ state }) => state === "not complete").map(({ name }) => name);
    expect(open("readiness")).toEqual(["evaporative system"]);
    expect(open("readinessThisCycle")).toEqual(["catalyst", "oxygen sensor"]);
  });

  test("published: service 06, 46 3D 98 FE 00 69 80 00 0D 8A is 26.25 Pa within -8192 to 866.5", () => {
    // Course notes, diag.net; the scaling FE is from memory.
    const [module] = foldSurvey([answer("7E8", "46 3D 98 FE 00 69 80 00 0D 8A")], true, null).modules;
    expect(module?.tests).toEqual([
      {
        monitor: "purge flow",
        test: "test 98",
        ids: { monitor: 0x3d, test: 0x98 },
        value: 26.25,
        low: -8192,
        high: 866.5,
        unit: "Pa",
        passed: true,
        run: true,
      },
    ]);
  });

  test("misfire counts by cylinder have no limits, so they pass and fail nothing", () => {
    // Monitor A3 is cylinder 2, test 0C the count, unit 24 counts: a service manual of 2012, mode 06.
    const [module] = foldSurvey(
      [answer("7E8", "46 A3 0B 24 00 07 00 00 00 00 A3 0C 24 00 15 00 00 00 00")],
      true,
      null,
    ).modules;
    expect(module?.tests.map(({ monitor, value, unit, passed }) => [monitor, value, unit, passed])).toEqual([
      ["misfire cylinder 2", 7, "counts", null],
      ["misfire cylinder 2", 21, "counts", null],
    ]);
  });

  test("all zeros: never run since codes were cleared", () => {
    const [module] = foldSurvey([answer("7E8", "46 21 80 20 00 00 00 00 00 00")], true, null).modules;
    expect(module?.tests[0]).toMatchObject({ monitor: "catalyst bank 1", run: false, passed: null });
  });

  test("a test out of its limits fails; an unknown scaling is shown raw", () => {
    const [module] = foldSurvey(
      [answer("7E8", "46 21 80 20 00 90 00 00 00 80 22 80 7E 00 01 00 00 00 02")],
      true,
      null,
    ).modules;
    expect(module?.tests.map(({ passed, unit }) => [passed, unit])).toEqual([
      [false, ""],
      [true, "raw"],
    ]);
  });

  test("outside CAN: sensor 1 of service 05 and component 1 of service 06 are two things with the same numbers", () => {
    const answers = ["45 07 01 14 00 3C", "46 07 01 00 05 00 09", "45 07 01 16 00 3C"].map((hex) =>
      answer("10", hex),
    );
    const [module] = foldSurvey(answers, false, null).modules;
    expect(module?.tests.map(({ monitor, value, unit }) => [monitor, value, unit])).toEqual([
      ["component 01", 5, "raw"],
      ["oxygen sensor bank 1 sensor 1", 0.11, "V"],
    ]);
  });

  test("freeze frame: the code that stored it, and values in the scaling of service 01", () => {
    const answers = ["42 02 00 01 71", "42 05 00 7B", "42 0C 00 1A F8", "42 03 00 02 00"].map((hex) =>
      answer("7E8", hex),
    );
    const [module] = foldSurvey(answers, true, null).modules;
    expect(module?.freezeFrame?.code).toBe("P0171");
    expect(module?.freezeFrame?.values.map(({ channel, words }) => [channel, words])).toEqual([
      ["coolant", "83 °C"],
      ["engine-speed", "1726 rpm"],
      ["fuel-system-1", "closed loop"],
      ["fuel-system-2", "off or not fitted"],
    ]);
  });

  test("no frame stored: 0000", () => {
    const [module] = foldSurvey([answer("7E8", "42 02 00 00 00")], true, null).modules;
    expect(module?.freezeFrame).toEqual({ code: null, values: [] });
  });

  test("identity: calibrations of 16 characters, verification numbers of 4 bytes, counters, name", () => {
    const text = (s: string, length: number): string =>
      Array.from(s.padEnd(length, "\0"), (c) => c.charCodeAt(0).toString(16).padStart(2, "0")).join("");
    const answers = [
      answer("7E8", `490402${text("INVENTED-01", 16)}${text("INVENTED-02", 16)}`),
      answer("7E8", "490601 1791BC82"),
      answer("7E8", "490804 0010 0123 0007 0009"),
      answer("7E8", `490A01${text("ECM-EngineControl", 20)}`),
    ];
    const [module] = foldSurvey(answers, true, 12.4).modules;
    expect(module?.calibrations).toEqual(["INVENTED-01", "INVENTED-02"]);
    expect(module?.verifications).toEqual(["1791BC82"]);
    expect(module?.counters?.slice(0, 3)).toEqual([
      { name: "OBD conditions met", count: 16 },
      { name: "ignition cycles", count: 291 },
      { name: "catalyst bank 1 completed", count: 7 },
    ]);
    expect(module?.name).toBe("ECM-EngineControl");
  });

  test("a refusal is kept as such", () => {
    const [module] = foldSurvey([answer("7E8", "7F 0A 11")], true, null).modules;
    expect(module).toMatchObject({ permanent: null, refused: ["0A: 11"] });
  });
});

test("check digits: 49 CFR 565 and the worked example of the encyclopaedia article on the number", () => {
  expect(checkDigit("1M8GDM9AXKP042788")).toBe("X");
  expect(checkDigit("1G4AH59H45G118341")).toBe("4");
  expect(checkDigit("11111111111111111")).toBe("1");
  expect(vinCheck("1M8GDM9AXKP042788")).toBe("fits");
  expect(vinCheck("1M8GDM9A1KP042788")).toBe("differs");
  expect(vinCheck("1M8GDM9AXKP04278")).toBe("malformed");
  expect(vinCheck("IM8GDM9AXKP042788")).toBe("malformed");
});

const talkative: PeerModule = {
  ...engineModule,
  replies: {
    ...engineModule.replies,
    "03": "4302017100AA",
    "07": "4700",
    "0A": "4A00",
    "020200": "4202000171",
    "020000": "42000058180000",
    "020400": "4204003C",
    "020500": "4205007B",
    "020C00": "420C001AF8",
    "020D00": "420D0000",
    "0900": "490054000000",
    // The encyclopaedia's worked example of a VIN.
    "0902": "490201314D3847444D3941584B50303432373838",
    "0904": "490401494E56454E5445442D30310000000000",
    "0906": "4906011791BC82",
    "0600": "460000000001",
    "0620": "462000000009",
    "0640": "464000000001",
    "0660": "466000000001",
    "0680": "468000000001",
    "06A0": "46A060000000",
    "063D": "463D98FE006980000D8A",
    "06A2": "46A20C24000300000000",
    "06A3": "46A30C24001500000000",
  },
};

describe("a survey over the line", () => {
  test("on CAN: everything announced is asked once, decoded, and in the recording", async () => {
    const all = await listening({
      modules: [talkative, { ...gearModule, replies: { ...gearModule.replies, "03": "4300" } }],
    });
    const { clock, session, sink, peer } = all;
    await clock.pass(500);
    await clock.run(session.pause());
    session.start(sink);
    const from = peer.received.length;
    const running = session.survey();
    await clock.run(running);
    const survey = await running;
    const [engine, gear] = survey.modules;
    expect(survey.volts).toBe(12.4);
    expect(engine).toMatchObject({
      module: "7E8",
      stored: ["P0171", "P00AA"],
      pending: [],
      permanent: [],
      vin: { text: "1M8GDM9AXKP042788", checkDigit: "fits" },
      calibrations: ["INVENTED-01"],
      verifications: ["1791BC82"],
      freezeFrame: { code: "P0171" },
    });
    expect(engine?.tests.map(({ monitor, value }) => [monitor, value])).toEqual([
      ["purge flow", 26.25],
      ["misfire cylinder 1", 3],
      ["misfire cylinder 2", 21],
    ]);
    expect(gear).toMatchObject({ module: "7E9", stored: [], pending: null, vin: null });
    const asked = peer.received.slice(from);
    for (const request of ["03", "07", "0A", "020200", "020000", "020500", "0902", "0906", "063D", "06A2"]) {
      expect(
        asked.filter((ask) => ask === request),
        request,
      ).toHaveLength(1);
    }
    // Not announced, not asked; and no count, since nobody knows how many will answer.
    for (const request of ["0908", "090A", "0621", "020B00"]) expect(asked).not.toContain(request);
    expect(sink.asked().slice(-200)).toEqual(expect.arrayContaining(asked.slice(0, 20)));
    await clock.run(session.close());
  });

  test("outside CAN: the VIN comes in five numbered messages", async () => {
    const slow: PeerModule = {
      address: "10",
      replies: {
        "0100": "4100BE3FE812",
        "0101": "410100076504",
        "03": ["43017100AA0000"],
        "07": "47000000000000",
        "0900": "49000150000000",
        "0902": ["49020100000031", "4902024D384744", "4902034D394158", "4902044B503034", "49020532373838"],
        // The first two sensors of bank 1, and of each what it tells.
        "0113": "411303",
        "050001": "45000180000000",
        "050101": "4501015A",
        "050002": "45000240000000",
        "050202": "45020246",
      },
    };
    const { clock, session, peer } = rig({ modules: [slow], protocol: 3 });
    await clock.run(session.connect());
    const running = session.survey();
    await clock.run(running);
    const [module] = (await running).modules;
    expect(module).toMatchObject({
      module: "10",
      stored: ["P0171", "P00AA"],
      pending: [],
      permanent: null,
      vin: { text: "1M8GDM9AXKP042788", checkDigit: "fits" },
    });
    expect(peer.received).toContain("0600");
    expect(peer.received.filter((ask) => /^05/.test(ask))).toEqual(["050001", "050101", "050002", "050202"]);
    expect(module?.tests.map(({ monitor, value }) => [monitor, value])).toEqual([
      ["oxygen sensor bank 1 sensor 1", 0.45],
      ["oxygen sensor bank 1 sensor 2", 0.35],
    ]);
    await clock.run(session.close());
  });
});
