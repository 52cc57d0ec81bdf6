import { expect, test } from "vitest";
import { ChannelStore } from "../../shared/channels.ts";
import { captures, capturesOf } from "../../src/interpret/report/captureOf.ts";
import { captureFor, stillToHear, stillToHearLines } from "../../src/interpret/report/stillToHear.ts";
import { makeSign } from "../../src/interpret/report/sign.ts";
import { advise } from "../../src/interpret/causes/advice.ts";
import { signRows } from "../../src/interpret/tables/signs.ts";
import { interpret } from "../../src/interpret/index.ts";
import { benchRecording, readText } from "../support/benchRecording.ts";

const nothing = { channels: new ChannelStore(), lastTime: 0 };

test("of an empty recording everything is to be heard, and it says why a warm idle does not count", () => {
  const channels = new ChannelStore();
  channels.append("coolant", "7E8", 1000, 47);
  const heard = stillToHear({ channels, lastTime: 2000 }, { regimes: [], cranks: [] });
  expect(heard.map(({ id }) => id)).toEqual(captures);
  expect(heard.every(({ part }) => part < 1)).toBe(true);
  expect(heard.find(({ id }) => id === "warm")).toMatchObject({ words: "coolant 47 of 75 °C" });
  expect(heard.find(({ id }) => id === "idle-warm")?.words).toBe("coolant 47 of 75 °C: not warm yet");
  expect(stillToHear(nothing, { regimes: [], cranks: [] })[4]?.words).toBe("coolant is not read");
});

test("the complaint orders them; an engine that does not start is not asked to idle", () => {
  const lean = stillToHear(nothing, { regimes: [], cranks: [] }, ["lean"]).map(({ id }) => id);
  expect(lean.slice(0, 4)).toEqual(["warm", "idle-warm", "held", "pull"]);
  expect(lean.toSorted()).toEqual([...captures].sort());
  expect(stillToHear(nothing, { regimes: [], cranks: [] }, ["no-start"]).map(({ id }) => id)).toEqual([
    ...["key-on", "crank", "start", "strength", "codes"],
  ]);
});

test("they tick by what the engine did", () => {
  const regimes = [
    { from: 0, to: 12_000, regime: "key-on" as const },
    { from: 12_000, to: 30_000, regime: "idle-warm" as const },
  ];
  const heard = stillToHear(nothing, { regimes, cranks: [] });
  const of = (id: string): unknown => heard.find((c) => c.id === id);
  expect(of("key-on")).toMatchObject({ part: 1, words: "heard" });
  expect(of("idle-warm")).toMatchObject({ part: 0.6, words: "18 of 30 s" });
  expect(of("warm")).toMatchObject({ part: 1 });
  expect(stillToHearLines(heard)).toContain(
    "idle warm, 30 s: 18 of 30 s (trims at idle: unmetered air, roughness, charging)",
  );
  expect(stillToHearLines(heard).some((line) => line.startsWith("key on"))).toBe(false);
});

test("codes count once they were asked, and a lamp asks for them first", () => {
  const sign = (verdict: "within" | "cannot-tell"): ReturnType<typeof makeSign> =>
    makeSign("crank.codes", { verdict });
  const codes = (signs: ReturnType<typeof makeSign>[]): unknown =>
    stillToHear(nothing, { regimes: [], cranks: [], signs }, ["lamp-on"])[0];
  expect(codes([])).toMatchObject({ id: "codes", part: 0, words: "not asked yet" });
  expect(codes([sign("cannot-tell")])).toMatchObject({ part: 0 });
  expect(codes([sign("within")])).toMatchObject({ part: 1, words: "heard" });
});

test("what saves most goes first, as any check; the complaint orders where nothing saves", () => {
  const worths = [
    { id: "codes", saves: 3 },
    { id: "held", saves: 12.4 },
    { id: "warm", saves: 0 },
  ];
  const list = stillToHear(nothing, { regimes: [], cranks: [] }, ["lean"], worths);
  expect(list.slice(0, 4).map(({ id }) => id)).toEqual(["held", "codes", "warm", "idle-warm"]);
  expect(list.map(({ saves }) => saves).slice(0, 4)).toEqual([12.4, 3, 0, null]);
  expect(stillToHearLines(list)[0]).toMatch(/^2500 rpm, 30 s: 0 of 30 s \(.*; saves about 12 on average\)$/);
});

test("a sign that cannot tell leads to the capture that would judge it, while it is not heard", () => {
  const signs = [
    makeSign("power.rest-voltage", { verdict: "cannot-tell" }),
    makeSign("mixture.idle-speed", { verdict: "cannot-tell" }),
    makeSign("misfire.cylinder", { verdict: "cannot-tell" }),
    makeSign("crank.all-weak", { verdict: "cannot-tell" }),
    makeSign("mixture.trims", { verdict: "within" }),
  ];
  const regimes = [{ from: 0, to: 12_000, regime: "key-on" as const }];
  const list = stillToHear(nothing, { regimes, cranks: [], signs });
  const led = signs.map((sign) => captureFor(list, sign)?.id);
  // At key on it was listened to long enough: another ten seconds would not tell it.
  expect(led).toEqual([undefined, "idle-warm", undefined, "strength", undefined]);
  expect(stillToHearLines(list).find((line) => line.startsWith("idle warm"))).toMatch(
    /\. Cannot tell without it: warm idle speed$/i,
  );
  for (const id of Object.keys(signRows))
    expect(
      capturesOf(id).every((c) => captures.includes(c)),
      id,
    ).toBe(true);
});

test("a snap is a speed that jumps from idle while it stands; revved slowly or on the road it is none", () => {
  const told = (rpm: (s: number) => number, kmh = 0): unknown => {
    const channels = new ChannelStore();
    for (let t = 0; t < 20_000; t += 200) {
      channels.append("engine-speed", "7E8", t, rpm(t / 1000));
      channels.append("vehicle-speed", "7E8", t, kmh);
    }
    const regimes = [
      { from: 0, to: 10_000, regime: "idle-warm" as const },
      { from: 10_000, to: 20_000, regime: "running" as const },
    ];
    return stillToHear({ channels, lastTime: 20_000 }, { regimes, cranks: [] }).find(
      ({ id }) => id === "snap",
    );
  };
  const jump = (s: number): number => (s >= 10 && s < 12 ? 3200 : 780);
  expect(told(jump)).toMatchObject({ part: 1, words: "heard" });
  expect(told((s) => (s < 10 ? 780 : Math.min(3200, 780 + 400 * (s - 10))))).toMatchObject({ part: 0 });
  expect(told(jump, 30)).toMatchObject({ part: 0 });
  expect(told(() => 780)).toMatchObject({ part: 0 });
});

test("the advice says what each capture would save: for a rough engine warm idle does, codes that were read do not again", async () => {
  const worths = (complaint: "rough" | "no-start"): ReadonlyMap<string, number> =>
    new Map((advise({ complaints: [complaint] }).captures ?? []).map(({ id, saves }) => [id, saves]));
  const rough = worths("rough");
  expect([...rough.keys()]).toEqual([...captures]);
  expect(rough.get("idle-warm")).toBeGreaterThan(0);
  expect(worths("no-start").get("crank")).toBeGreaterThan(0);
  expect(rough.get("snap")).toBe(0);
  expect(advise({ complaints: [] }).captures).toBeUndefined();
  const reading = readText(await benchRecording({ vehicle: "garden-van", script: "start-and-idle" }));
  const findings = interpret(reading);
  const heard = advise({
    complaints: ["no-start"],
    heard: [{ recording: "one", started: "2024-01-01T00:00:00.000Z", findings }],
  });
  const after = heard.captures?.find(({ id }) => id === "crank")?.saves ?? 0;
  expect(after).toBeLessThan(worths("no-start").get("crank") ?? 0);
}, 180_000);

test("a start and an idle on the bench tick their captures and no others", async () => {
  const reading = readText(await benchRecording({ vehicle: "garden-van", script: "start-and-idle" }));
  const heard = stillToHear(reading, interpret(reading));
  const done = heard.filter(({ part }) => part === 1).map(({ id }) => id);
  expect(done).toEqual(expect.arrayContaining(["crank", "start", "idle-cold"]));
  expect(done).not.toContain("held");
  expect(done).not.toContain("pull");
}, 180_000);
