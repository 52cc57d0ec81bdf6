/** What modules tested by themselves, and what was frozen with a code: read from their answers, byte by byte. */
import { describe, expect, test } from "vitest";
import { misfireCountTest, misfireMeanTest, testName } from "../../shared/monitorTests.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { consider } from "../../src/interpret/causes/visit.ts";
import { complaintsOf } from "../../src/interpret/causes/complaint.ts";
import type { Findings, Sign } from "../../src/interpret/index.ts";
import { findingsOf, idle } from "./scenes.ts";

const protocol: RecordingEvent = { k: "link", t: 0, state: "protocol", protocol: "can11-500" };

/** An answer on CAN 11 bit in one frame, or in a first frame and one more. */
function told(t: number, ask: string, hex: string): RecordingEvent {
  const data = hex.replace(/ /g, "");
  const n = data.length / 2;
  const lines =
    n <= 7
      ? [`7E80${n}${data}`]
      : [
          `7E810${n.toString(16).toUpperCase().padStart(2, "0")}${data.slice(0, 12)}`,
          `7E821${data.slice(12).padEnd(14, "0")}`,
        ];
  return { k: "x", t, ask, lines, first: 5, end: 10 };
}

const withAnswers = (...events: RecordingEvent[]): Findings =>
  findingsOf([idle(20)], 5, { events: [protocol, ...events] });
const signsOf = (findings: Findings, id: string): Sign[] => findings.signs.filter((s) => s.id === id);
const share = (findings: Findings, complaint: "lamp-on" | "lean", id: string): number => {
  const heard = [{ recording: "r", started: "", findings }];
  const seen = consider({ complaints: [complaint], heard, facts: { fuel: "petrol" } });
  return seen.held.shares[seen.model.place.get(id) ?? -1] ?? 0;
};

describe("tests of service 06", () => {
  // Monitor, test, unit, value, lowest, highest; unit 10 counts milliseconds (ISO 15031-5, from memory).
  const slow = told(4000, "0601", "46 01 05 10 01 36 00 00 00 D2");
  const quick = told(4000, "0601", "46 01 05 10 00 50 00 00 00 D2");

  test("which monitor failed, and by how much; near while the module has stored no code of it", () => {
    const [sign] = signsOf(withAnswers(slow), "sensor.oxygen-monitor");
    expect(sign).toMatchObject({ verdict: "near", bank: 1 });
    // 310 ms where 210 are the most.
    expect(sign?.measured?.what).toBe(
      "oxygen sensor bank 1 sensor 1: switch time rich to lean 0.31 s, 0.1 s beyond 0 to 0.21 s",
    );
    const coded = withAnswers(slow, told(4100, "07", "47 01 01 33"));
    expect(signsOf(coded, "sensor.oxygen-monitor")[0]?.verdict).toBe("outside");
    const another = withAnswers(slow, told(4100, "07", "47 01 03 01"));
    expect(signsOf(another, "sensor.oxygen-monitor")[0]?.verdict).toBe("near");
    expect(signsOf(withAnswers(quick), "sensor.oxygen-monitor")[0]?.verdict).toBe("within");
  });

  test("a failed test speaks for its part, a passed one against it, and one that never ran says nothing", () => {
    const plain = share(withAnswers(), "lamp-on", "oxygen-dead");
    expect(share(withAnswers(slow), "lamp-on", "oxygen-dead")).toBeGreaterThan(1.5 * plain);
    expect(share(withAnswers(quick), "lamp-on", "oxygen-dead")).toBeLessThan(plain);
    const never = told(4000, "0601", "46 01 05 10 00 00 00 00 00 00");
    expect(signsOf(withAnswers(never), "sensor.oxygen-monitor")).toEqual([]);
    // Before CAN: test 05 of the first sensor, value and limits; a step is 4 ms.
    const before = (bytes: readonly number[]): Findings => {
      const all = [0x48, 0x6b, 0x10, 0x45, 0x05, 0x01, ...bytes];
      const sum = all.reduce((a, b) => a + b, 0) & 255;
      const line = [...all, sum].map((b) => b.toString(16).toUpperCase().padStart(2, "0")).join("");
      return findingsOf([idle(20)], 5, {
        events: [
          { k: "link", t: 0, state: "protocol", protocol: "iso9141" },
          { k: "x", t: 4000, ask: "050501", lines: [line], first: 5, end: 10 },
        ],
      });
    };
    expect(signsOf(before([0x7a, 0, 0x64]), "sensor.oxygen-monitor")).toMatchObject([{ verdict: "near" }]);
    expect(signsOf(before([0, 0, 0]), "sensor.oxygen-monitor")).toEqual([]);
  });

  test.each([
    ["35", "crank.timing-monitor", "cam-phaser", "00 11"],
    ["31", "mixture.recirculation-monitor", "egr-open", "04 01"],
    ["3D", "mixture.purge-monitor", "purge-open", "04 41"],
    ["41", "sensor.heater-monitor", "oxygen-dead", "01 35"],
    ["81", "mixture.fuel-monitor", "air-leak-small", "01 71"],
  ])("monitor %s is %s and speaks for %s", (monitor, id, cause, code) => {
    const test = told(4000, `06${monitor}`, `46 ${monitor} 80 01 00 09 00 00 00 05`);
    const failed = withAnswers(test);
    expect(signsOf(failed, id)).toMatchObject([{ verdict: "near" }]);
    expect(signsOf(withAnswers(test, told(4100, "03", `43 01 ${code}`)), id)[0]?.verdict).toBe("outside");
    expect(signsOf(failed, id)[0]?.measured?.what).toContain("9, 4 beyond 0 to 5");
    expect(complaintsOf(failed)).toEqual([]);
    expect(share(failed, "lamp-on", cause)).toBeGreaterThan(share(withAnswers(), "lamp-on", cause));
  });

  test("a rear sensor, a catalyst and a misfire count are none of these", () => {
    const others = ["02", "21", "A2"].map((m) => told(4000, `06${m}`, `46 ${m} 80 01 00 09 00 00 00 05`));
    expect(withAnswers(...others).signs.filter((s) => s.id.endsWith("-monitor"))).toEqual([]);
  });
});

test("a code that is pending soon after clearing says more, and says how soon", () => {
  const pending = told(4000, "07", "47 01 01 71");
  // Two warm-ups since clearing (parameter 30).
  const young = told(5000, "0130", "41 30 02");
  const plain = withAnswers(pending);
  const soon = withAnswers(pending, young);
  expect(soon.signs.find((s) => s.id === "power.memory-cleared")?.verdict).toBe("near");
  const words = (findings: Findings): string[] => {
    const heard = [{ recording: "r", started: "", findings }];
    return consider({ complaints: ["lean"], heard }).evidence.flatMap((e) =>
      e.source === "code" ? [e.words] : [],
    );
  };
  expect(words(plain)).toEqual(["code P0171 pending"]);
  expect(words(soon)).toEqual(["code P0171 pending, since clearing: 2 warm-ups"]);
  expect(share(soon, "lean", "air-leak-small")).toBeGreaterThan(share(plain, "lean", "air-leak-small"));
});

describe("a freeze frame", () => {
  const frame = (load: string, speed: string, trim: string): RecordingEvent[] => [
    told(4000, "0202", "42 02 00 01 71"),
    told(4010, "0203", "42 03 00 02 00"),
    told(4020, "0204", `42 04 00 ${load}`),
    told(4030, "0206", `42 06 00 ${trim}`),
    told(4040, "0207", "42 07 00 90"),
    told(4050, "020C", `42 0C 00 ${speed}`),
  ];
  // 9A is +20 %, 90 is +12.5 %; load 3C is 24 % and CC is 80 %; 0BB8 is 750 rpm and 2EE0 is 3000 rpm.
  const atIdle = withAnswers(...frame("3C", "0B B8", "9A"));
  const pulling = withAnswers(...frame("CC", "2E E0", "9A"));

  test("says where it was lean: at idle for a leak, under load for delivery", () => {
    expect(signsOf(atIdle, "mixture.freeze-place")).toMatchObject([{ verdict: "outside", side: "low" }]);
    expect(signsOf(pulling, "mixture.freeze-place")).toMatchObject([{ verdict: "outside", side: "high" }]);
    const ratio = (f: Findings): number => share(f, "lean", "pump-weak") / share(f, "lean", "air-leak-small");
    expect(ratio(pulling)).toBeGreaterThan(10 * ratio(atIdle));
  });

  test("that was not lean says nothing of the place", () => {
    const rich = withAnswers(...frame("3C", "0B B8", "50"));
    expect(signsOf(rich, "mixture.freeze-place")).toEqual([]);
    expect(signsOf(rich, "mixture.freeze-frame")[0]).toMatchObject({ verdict: "outside", side: "low" });
    const right = withAnswers(...frame("3C", "0B B8", "70"));
    expect(signsOf(right, "mixture.freeze-frame")[0]?.verdict).toBe("within");
  });
});

test("misfires: test 0B is the mean over ten drive cycles, 0C the count of the last or this one", () => {
  // ISO 15031-6 and SAE J1979, test identifiers of misfire monitors; from memory.
  expect([misfireMeanTest, misfireCountTest]).toEqual([0x0b, 0x0c]);
  expect(testName(0xa2, 0x0b)).toMatch(/mean.*ten drive cycles/);
  expect(testName(0xa2, 0x0c)).toMatch(/this drive cycle/);
});
