/** Before and after, and what marked intervals answer by themselves, from readings through the real interpreter. */
import { expect, test } from "vitest";
import { beforeAndAfter, type Side } from "../../src/interpret/causes/beforeAfter.ts";
import { gather } from "../../src/interpret/causes/evidence.ts";
import { markedResults } from "../../src/interpret/causes/marked.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";
import type { Comparison, Crank, Findings, Verdict } from "../../src/interpret/index.ts";
import { comparedLines } from "../../src/sheet/advised.ts";
import { ChannelStore } from "../../shared/channels.ts";
import { seeded } from "../../shared/seeded.ts";
import { at, crank, findings, heard, result, sign } from "./support.ts";

interface Scene {
  readonly speed: number;
  readonly coolant: number;
  readonly fire: number;
  readonly idleTrim: number;
  readonly signs: Findings["signs"];
}

function side(name: string, scene: Scene): Side {
  const channels = new ChannelStore();
  const random = seeded(name.length);
  for (let t = 1000; t < 4000; t += 100)
    channels.append("engine-speed", "7E8", t, scene.speed + 6 * (random() - 0.5));
  for (let t = 10_000; t < 60_000; t += 500) {
    channels.append("engine-speed", "7E8", t, 750 + 10 * (random() - 0.5));
    channels.append("trim-short-b1", "7E8", t, scene.idleTrim + 2 * (random() - 0.5));
    channels.append("coolant", "7E8", t, 85);
    channels.append("load", "7E8", t, 20);
  }
  return {
    name,
    channels,
    findings: findings({
      regimes: [
        { from: 0, to: 1000, regime: "key-on" },
        { from: 1000, to: 4000, regime: "cranking" },
        { from: 10_000, to: 60_000, regime: "idle-warm" },
      ],
      cranks: [crank(1000, scene.speed, scene.coolant, scene.fire)],
      signs: scene.signs,
    }),
  };
}

const slow = side("before", {
  speed: 120,
  coolant: 18,
  fire: 2.4,
  idleTrim: 0,
  signs: [sign("crank.speed", "outside", { key: "crank.speed/1" })],
});

test("gone under the same conditions is repaired, with differences and their intervals", () => {
  const after = side("after it", {
    speed: 210,
    coolant: 20,
    fire: 0.8,
    idleTrim: 0,
    signs: [sign("crank.speed", "within", { key: "crank.speed/1" })],
  });
  const told = beforeAndAfter(slow, after);
  expect(told.verdict).toBe("repaired");
  const speed = told.rows.find((r) => r.what === "cranking speed");
  expect(speed).toMatchObject({ says: "higher", unit: "rpm" });
  expect(speed?.difference).toBeGreaterThan(88);
  expect(speed?.difference).toBeLessThan(92);
  expect(speed?.interval?.low).toBeGreaterThan(80);
  const fire = told.rows.find((r) => r.what === "time to fire");
  expect(fire).toMatchObject({ difference: -1.6, says: "lower" });
  expect(told.rows.find((r) => r.what === "STFT, bank 1")?.says).toBe("no-change-seen");
});

test("gone on a hot engine is not shown: the conditions differ, and it says which", () => {
  const after = side("after", {
    speed: 210,
    coolant: 80,
    fire: 0.5,
    idleTrim: 0,
    signs: [sign("crank.speed", "within", { key: "crank.speed/1" })],
  });
  const told = beforeAndAfter(slow, after);
  expect(told.verdict).toBe("not-shown");
  expect(told.words).toContain("conditions differ");
  expect(told.words).toContain("coolant at the crank: 18 °C before, 80 °C after");
});

test("not looked at again is not shown; still outside is not repaired", () => {
  const scene = { speed: 125, coolant: 18, fire: 2, idleTrim: 0 };
  const unseen = beforeAndAfter(slow, side("after", { ...scene, signs: [] }));
  expect(unseen.verdict).toBe("not-shown");
  expect(unseen.words).toContain("not looked at again");
  const cannot = side("after", {
    ...scene,
    signs: [sign("crank.speed", "cannot-tell", { key: "crank.speed/1" })],
  });
  expect(beforeAndAfter(slow, cannot).verdict).toBe("not-shown");
  for (const verdict of ["outside", "near"] as const) {
    const still = side("after", {
      ...scene,
      signs: [sign("crank.speed", verdict, { key: "crank.speed/1" })],
    });
    expect(beforeAndAfter(slow, still).verdict).toBe("still-there");
  }
});

test("codes that were only remembered do not decide, and nothing outside before is nothing repaired", () => {
  const scene = { speed: 200, coolant: 18, fire: 0.8, idleTrim: 0 };
  const before = side("before", { ...scene, signs: [sign("crank.codes", "outside")] });
  expect(beforeAndAfter(before, side("after", { ...scene, signs: [] })).verdict).toBe("nothing-before");
});

const running = { speed: 200, coolant: 18, fire: 0.8 };
const lean = sign("mixture.lean", "outside", { bank: 2, key: "mixture.lean/b2/idle" });

function trims(bank: number, place: string, verdict: Verdict): Findings["signs"][number] {
  return sign("mixture.trims", verdict, { bank, key: `mixture.trims/b${bank}/${place}` });
}

test("lean before and in need of little correction after is gone", () => {
  const before = side("before", { ...running, idleTrim: 18, signs: [lean] });
  const after = side("after it", { ...running, idleTrim: 1, signs: [trims(2, "idle", "within")] });
  const told = beforeAndAfter(before, after);
  expect(told.verdict).toBe("repaired");
  expect(told.rows.find((r) => r.what === "STFT, bank 1")?.says).toBe("lower");
});

test("what one bank needs, or another speed, says nothing of where it was lean", () => {
  const before = side("before", { ...running, idleTrim: 18, signs: [lean] });
  for (const other of [
    trims(1, "idle", "within"),
    trims(2, "held", "within"),
    trims(2, "idle", "cannot-tell"),
  ])
    expect(
      beforeAndAfter(before, side("after", { ...running, idleTrim: 1, signs: [other] })).earlier[0]?.now,
    ).toBe("not-seen-again");
  const rich = sign("mixture.rich", "outside", { bank: 2, key: "mixture.rich/b2/idle" });
  const turned = beforeAndAfter(before, side("after", { ...running, idleTrim: -18, signs: [rich] }));
  expect(turned.verdict).toBe("still-there");
  expect(turned.words).toContain("now to the other side");
});

/** Each is told only while it is there; `seen` is what shows that it was looked at again. */
test.each<[string, string, Partial<Crank>, Findings["signs"]]>([
  ["mixture.clipped", "mixture.clipped/b2", {}, [trims(2, "idle", "within")]],
  ["mixture.clipped", "mixture.clipped/b2", {}, [sign("mixture.lean", "near", { bank: 2 })]],
  ["crank.drag", "crank.drag", {}, [sign("crank.speed", "within")]],
  ["crank.no-compression", "crank.no-compression", {}, [sign("crank.pull-down", "within")]],
  ["crank.no-fire", "crank.no-fire", { outcome: "fired-and-died", ranS: 1 }, []],
  ["crank.dies", "crank.dies", {}, []],
  ["crank.no-turn", "crank.no-turn", { outcome: "turned-and-did-not-fire", ranS: null }, []],
  ["power.collapse", "power.collapse", {}, []],
  ["misfire.counts", "misfire.counts/cylinder 3", {}, [sign("misfire.counts", "within")]],
])("%s (%s) is gone when what would show it is seen without it", (id, key, crankIs, seen) => {
  const bank = id === "mixture.clipped" ? { bank: 2 } : {};
  const before = side("before", { ...running, idleTrim: 0, signs: [sign(id, "outside", { key, ...bank })] });
  const after = (signs: Findings["signs"], is: Partial<Crank> | null): Side => {
    const one = side("after", { ...running, idleTrim: 0, signs });
    const cranks = is === null ? [] : one.findings.cranks.map((c) => ({ ...c, ...is }));
    return { ...one, findings: { ...one.findings, cranks } };
  };
  const now = (s: Side): string | undefined => beforeAndAfter(before, s).earlier[0]?.now;
  expect(now(after(seen, crankIs))).toBe("gone");
  expect(now(after([], null))).toBe("not-seen-again");
  expect(now(after([sign(id, "outside", { key, ...bank })], crankIs))).toBe("still-there");
});

test("cranks that do not show it leave it open: no voltage read, not fired, no speed seen", () => {
  const one = side("after", { ...running, idleTrim: 0, signs: [] });
  const cranks = one.findings.cranks.map((c) => ({
    ...c,
    ...{ meanVolts: null, speed: null, outcome: "turned-without-signal" as const, ranS: null },
  }));
  const after = { ...one, findings: { ...one.findings, cranks } };
  for (const id of ["power.collapse", "crank.no-fire", "crank.dies", "crank.no-turn"]) {
    const before = side("before", { ...running, idleTrim: 0, signs: [sign(id, "outside")] });
    expect(beforeAndAfter(before, after).earlier[0]?.now).toBe("not-seen-again");
  }
});

test("a dead cylinder that has become another one is not repaired", () => {
  const dead = (cylinder: number): Findings["signs"] => [sign("misfire.cylinder", "outside", { cylinder })];
  const told = beforeAndAfter(
    side("before", { ...running, idleTrim: 0, signs: dead(3) }),
    side("after", { ...running, idleTrim: 0, signs: dead(5) }),
  );
  expect(told.verdict).toBe("still-there");
  expect(told.words).toContain("now cylinder 5");
});

test("only the chosen stretch is compared", () => {
  const long = side("after", { speed: 210, coolant: 18, fire: 0.8, idleTrim: 0, signs: [] });
  const cut: Side = { ...long, window: { from: 20_000, to: 60_000 } };
  expect(beforeAndAfter(slow, cut).rows.some((r) => r.regime === "cranking")).toBe(false);
  expect(beforeAndAfter(slow, long).rows.some((r) => r.regime === "cranking")).toBe(true);
});

function comparison(parts: Partial<Comparison>): Comparison {
  const measured = { value: 1, samples: 40, effective: 20 };
  return {
    markId: "m1",
    label: "fuel added at the intake",
    during: { from: 5000, to: 15_000 },
    around: [{ from: 0, to: 5000 }],
    channel: "engine-speed",
    of: "roughness",
    unit: "%",
    before: measured,
    mean: measured,
    rate: 4,
    difference: 0,
    interval: { low: -0.2, high: 0.2, level: 0.95 },
    says: "no-change-seen",
    words: "roughness: measured.",
    ...parts,
  };
}

test("fuel added at idle: smoother, no change, or cannot tell, by the measured effect", () => {
  const speed = comparison({ of: "level", unit: "rpm", interval: { low: -4, high: 5, level: 0.95 } });
  const say = (...list: Comparison[]): string | null | undefined =>
    markedResults(findings({ comparisons: list }))[0]?.outcome;
  const smoother = comparison({
    difference: -1.4,
    interval: { low: -1.8, high: -1, level: 0.95 },
    says: "lower",
  });
  expect(say(smoother, speed)).toBe("smoother");
  expect(say(comparison({}), speed)).toBe("same");
  // Too wide to exclude a change that matters: no answer, rather than "no change".
  expect(say(comparison({ interval: { low: -3, high: 2.5, level: 0.95 } }), speed)).toBeNull();
  expect(say(comparison({ says: "cannot-tell" }), speed)).toBeNull();
});

test("a label that names no check answers none; a seal taken off is not a seal", () => {
  expect(markedResults(findings({ comparisons: [comparison({ label: "phone rang" })] }))).toHaveLength(0);
  expect(markedResults(findings({ comparisons: [comparison({ label: "seal taken off" })] }))).toHaveLength(0);
  const sealed = comparison({
    label: "gasket sealed",
    channel: "trim-short-b2",
    of: "level",
    difference: -9,
    interval: { low: -11, high: -7, level: 0.95 },
    says: "lower",
  });
  expect(markedResults(findings({ comparisons: [sealed] }))[0]).toMatchObject({
    check: "intake-sealed",
    outcome: "changes",
  });
});

test("recirculation blocked: better by the measured effect; opened again it is no blocking", () => {
  const speed = comparison({ of: "level", unit: "rpm", interval: { low: -4, high: 5, level: 0.95 } });
  const say = (label: string, ...list: Comparison[]): unknown =>
    markedResults(findings({ comparisons: list.map((c) => ({ ...c, label })) })).map((m) => [
      m.check,
      m.outcome,
    ]);
  const smoother = comparison({
    difference: -1.4,
    interval: { low: -1.8, high: -1, level: 0.95 },
    says: "lower",
  });
  expect(say("EGR valve blocked off", smoother, speed)).toEqual([["egr-blocked", "better"]]);
  expect(say("blocked the recirculation", comparison({}), speed)).toEqual([["egr-blocked", "same"]]);
  expect(say("recirculation unblocked", smoother, speed)).toEqual([]);
});

test("the cylinder balance answers the check of unplugging in turn", () => {
  const balance = { cylinders: [], dead: 3, words: "Cylinder 3 does not pull." };
  expect(markedResults(findings({ balance }))[0]).toMatchObject({ check: "unplug-cylinder", outcome: "one" });
  const unsure = { cylinders: [], dead: null, words: "Cannot tell: too close." };
  expect(markedResults(findings({ balance: unsure }))[0]?.outcome).toBeNull();
});

test("a mark that the person entered as a result counts once, as the person says", () => {
  const list = [
    comparison({ difference: -1.4, interval: { low: -1.8, high: -1, level: 0.95 }, says: "lower" }),
  ];
  const situation = { complaints: ["rough"] as const, heard: [heard({ comparisons: list })] };
  const alone = gather(tablesModel(), situation);
  expect(alone.map((e) => e.source)).toEqual(["marked"]);
  const log = [
    result("fuel-added-idle", "smoother", 4, { at: at(4), link: { recording: "one.ndjson", mark: "m1" } }),
  ];
  expect(gather(tablesModel(), { ...situation, log }).map((e) => e.source)).toEqual(["check"]);
});

test("an engine that starts again, with its speed seen, is repaired; one that still does not start is not", () => {
  const good: Scene = { speed: 180, coolant: 20, fire: 0.8, idleTrim: 0, signs: [] };
  const unseen: Scene = { ...good, signs: [sign("crank.no-speed", "outside")] };
  const dead = (name: string, scene: Scene): Side => {
    const one = side(name, scene);
    const cranks = one.findings.cranks.map((c) => ({
      ...c,
      outcome: "turned-without-signal" as const,
      speed: null,
    }));
    return { ...one, findings: { ...one.findings, cranks } };
  };
  const mended = beforeAndAfter(dead("before", unseen), side("after", good));
  expect(mended.verdict).toBe("repaired");
  expect(mended.earlier.map((e) => e.key)).toEqual(["crank.no-speed", "crank.start"]);
  const still = beforeAndAfter(dead("before", unseen), dead("after", { ...good, signs: unseen.signs }));
  expect(still.verdict).toBe("still-there");
  // Speed is not seen, and no sign says so either: nothing is claimed.
  expect(beforeAndAfter(dead("before", unseen), dead("after", good)).earlier[0]?.now).toBe("not-seen-again");
});

test.each([
  ["fuel added at the intake", "add-fuel", "fires", "nothing"],
  ["jump pack on", "booster", "starts", "same"],
  ["relay swapped", "relay-swap", "works", "same"],
  ["exhaust opened", "exhaust-open", "freer", "same"],
  ["pedal held down", "clear-flood", "starts", "same"],
  ["recirculation blocked off", "egr-blocked", "better", "same"],
])("%s while cranking: answered by what the attempts came to", (label, check, starts, same) => {
  const during = { from: 20_000, to: 30_000 };
  const mark = comparison({ label, during });
  const one = (from: number, outcome: Crank["outcome"]): Crank => ({ ...crank(from, 180, 20, 1), outcome });
  const before = [one(5000, "turned-and-did-not-fire"), one(12_000, "turned-and-did-not-fire")];
  const answer = (cranks: Crank[]): unknown =>
    markedResults(findings({ cranks, comparisons: [mark] })).map((m) => [m.check, m.outcome]);
  expect(answer([...before, one(22_000, "started")])).toEqual([[check, starts]]);
  expect(answer([...before, one(22_000, "turned-and-did-not-fire")])).toEqual([[check, same]]);
  // It had started before, or was never tried before: what this did is open.
  expect(answer([one(5000, "started"), one(22_000, "started")])).toEqual([[check, null]]);
  expect(answer([one(22_000, "started")])).toEqual([[check, null]]);
  const [words] = markedResults(
    findings({ cranks: [...before, one(22_000, "started")], comparisons: [mark] }),
  );
  expect(words?.words).toMatch(/^0 of 2 cranks (?:started|fired) before it, 1 of 1 during it\.$/);
});

test("the cranking speed is the figure of the crank's own row, however the crank begins", () => {
  const channels = new ChannelStore();
  // It takes a second to come up to speed, which is no part of how fast it turns.
  for (let t = 1000; t < 4000; t += 100)
    channels.append("engine-speed", "7E8", t, t < 2000 ? (t - 1000) / 50 : 182);
  const one = (name: string): Side => ({
    name,
    channels,
    findings: findings({
      regimes: [{ from: 1000, to: 4000, regime: "cranking" }],
      cranks: [{ ...crank(1000, 182, 18, 2), to: 4000 }],
      signs: [],
    }),
  });
  const told = beforeAndAfter(one("before"), one("after"));
  expect(told.rows.find((r) => r.what === "cranking speed")?.before.value).toBe(182);
});

test("the codes of both sides are told, and decide nothing", () => {
  const scene = { speed: 200, coolant: 18, fire: 0.8, idleTrim: 0, signs: [] };
  const plain = side("before", scene);
  expect(beforeAndAfter(plain, side("after", scene)).codes).toBeUndefined();
  const code = (code: string): Findings["codes"][number] => ({ code }) as Findings["codes"][number];
  const coded = {
    ...plain,
    findings: { ...plain.findings, codes: [code("P0174"), code("P0171"), code("P0171")] },
  };
  const told = beforeAndAfter(coded, side("after", scene));
  expect(told.codes).toEqual({ before: ["P0171", "P0174"], after: [] });
  expect(told.verdict).toBe("nothing-before");
  expect(comparedLines(told)).toContain("DTCs: P0171, P0174 before, none told after");
});
