import { expect, test } from "vitest";
import { ChannelStore } from "../../shared/channels.ts";
import { captures, stillToHear, stillToHearLines } from "../../src/interpret/report/stillToHear.ts";
import { makeSign } from "../../src/interpret/report/sign.ts";
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

test("a start and an idle on the bench tick their captures and no others", async () => {
  const reading = readText(await benchRecording({ vehicle: "garden-van", script: "start-and-idle" }));
  const heard = stillToHear(reading, interpret(reading));
  const done = heard.filter(({ part }) => part === 1).map(({ id }) => id);
  expect(done).toEqual(expect.arrayContaining(["crank", "start", "idle-cold"]));
  expect(done).not.toContain("held");
  expect(done).not.toContain("pull");
}, 180_000);
