/** The order of causes and the next thing to do, through the door that page and command line use. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { z } from "zod/mini";
import { seeded } from "../../shared/seeded.ts";
import { advise, plainCheck } from "../../src/interpret/causes/advice.ts";
import { adviceSchema, type Advice } from "../../src/interpret/causes/adviceSchema.ts";
import { adviceText, standingText } from "../../src/interpret/causes/adviceText.ts";
import { complaintsInWords, complaintsOf } from "../../src/interpret/causes/complaint.ts";
import type { Situation } from "../../src/interpret/causes/evidence.ts";
import type { LogEntry } from "../../src/interpret/causes/results.ts";
import { buildModel, likelihood, shaken } from "../../src/interpret/causes/model.ts";
import { couldChange, leastToBuy, repairsOf } from "../../src/interpret/causes/next.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import { complaints, type HandCheckRow } from "../../src/interpret/causes/types.ts";
import { consider } from "../../src/interpret/causes/visit.ts";
import type { Crank, Findings, Sign } from "../../src/interpret/index.ts";
import { act, crank, findings, heard, result, sign } from "./support.ts";

const rows: readonly HandCheckRow[] = handChecks;
const first = (advice: Advice): string => advice.causes[0]?.id ?? "";

const sagWithoutSpeed: Situation = {
  complaints: ["no-start"],
  heard: [
    heard({
      signs: [
        sign("crank.no-speed", "outside"),
        sign("power.crank-voltage", "within"),
        sign("power.rest-voltage", "within"),
        sign("power.feed-drop", "within"),
      ],
      codes: [{ code: "P0335", module: "7E8", kind: "stored", t: 100 }],
    }),
  ],
};

test("a sag without speed, good volts and the code: crank signal, and a check of it or beside it comes next", () => {
  const advice = advise(sagWithoutSpeed);
  expect(first(advice)).toMatch(/^crank-signal-/);
  expect(advice.causes[0]?.for.map((e) => e.source)).toContain("code");
  expect(advice.next.kind).toBe("check");
});

test("the advice follows its schema, is the same each time, and its text fits 100 columns", () => {
  for (const complaint of complaints) {
    const advice = advise({ complaints: [complaint] });
    expect(z.parse(adviceSchema, JSON.parse(JSON.stringify(advice)))).toEqual(advice);
    expect(advise({ complaints: [complaint] })).toEqual(advice);
    for (const line of adviceText(advice).split("\n")) expect(line.length).toBeLessThanOrEqual(100);
  }
});

test("shares are told in twentieths, in a band that holds them, and none of these is always there", () => {
  for (const advice of [advise(sagWithoutSpeed), advise({ complaints: ["rough"] })]) {
    for (const { standing } of [...advice.causes, { standing: advice.none }]) {
      for (const share of [standing.share, standing.low, standing.high]) {
        expect(Math.abs(share * 20 - Math.round(share * 20))).toBeLessThan(1e-9);
      }
      expect(standing.low).toBeLessThanOrEqual(standing.share);
      expect(standing.high).toBeGreaterThanOrEqual(standing.share);
    }
    // Estimates that are off move the first cause both ways.
    expect(advice.causes.some(({ standing: s }) => s.low < s.share && s.share < s.high)).toBe(true);
    expect(advice.none.share).toBeGreaterThanOrEqual(0);
    expect(adviceText(advice)).toContain("None of these");
  }
});

test("a standing is told with its band from low to high, and short of what nobody can tell", () => {
  const told = (share: number, low: number, high: number): string =>
    standingText({ share, low, high, word: "likely" });
  expect(told(0.6, 0.35, 0.8)).toBe("likely (about 60 %; if our estimates are off by two: 35 to 80 %)");
  expect(told(0.6, 0.6, 0.6)).toBe("likely (about 60 %)");
  expect(told(1, 0.9, 1)).toContain("over 95 %; if");
  expect([told(0, 0, 0), told(0, 0, 0.2)]).toEqual([
    "likely (under 5 %)",
    "likely (under 5 %; if our estimates are off by two: 0 to 20 %)",
  ]);
});

test("what the tables' own figures decide is told as not stable, what evidence decides as steady", () => {
  expect(advise({ complaints: ["rough"] }).steady.first).toBe(false);
  expect(advise({ complaints: ["rough"] }).steady.words).toContain("not stable");
  const sure = advise({
    complaints: ["no-start"],
    log: [
      result("crank-sensor", "none", 1),
      result("injector-pulse", "dark", 2),
      result("spark-test", "none", 3),
    ],
  });
  expect(sure.steady.first).toBe(true);
  expect(first(sure)).toBe("crank-signal-dead");
});

test("when everything looked at is healthy, none of these grows", () => {
  const before = consider({ complaints: ["rich"] }, { steady: false });
  const log = rows
    .filter((c) => c.for === undefined || c.for.includes("rich"))
    .flatMap((c, i) => {
      const normal = c.outcomes.find((o) => o.normal === true);
      return normal === undefined ? [] : [result(c.id, normal.id, i)];
    });
  const after = consider({ complaints: ["rich"], log }, { steady: false });
  const none = before.model.causes.length;
  expect(after.held.shares[none]).toBeGreaterThan(5 * (before.held.shares[none] ?? 1));
});

test("two faults that each explain what the other cannot are told together", () => {
  const log = [
    result("crank-sensor", "none", 1),
    result("pump-listen", "silent", 2),
    result("pump-volts", "full", 3),
    result("pump-current", "none", 4),
    result("injector-pulse", "dark", 5),
  ];
  const advice = advise({ complaints: ["no-start"], log });
  expect([...(advice.together?.causes ?? [])].sort()).toEqual(["crank-signal-dead", "pump-dead"]);
  expect(advise({ complaints: ["no-start"], log: log.slice(0, 1) }).together).toBeNull();
});

test("after one of two is mended, what was seen before has it in it and the other comes first", () => {
  const log = [
    result("spark-test", "none", 1),
    result("injector-pulse", "dark", 2),
    result("crank-sensor", "none", 3),
    act("crank-signal-dead", "changed", "better", 40),
    result("spark-test", "good", 50),
    result("fuel-pressure", "none", 55),
    result("pump-listen", "silent", 56),
  ];
  const advice = advise({ complaints: ["no-start"], log });
  expect(first(advice)).toBe("pump-dead");
});

test("a check whose tool is lacking is skipped, and said so; one that comes after another waits for it", () => {
  const lacking = ["fuel-gauge"];
  const advice = advise({ complaints: ["no-start"] }, { preferences: { lacking } });
  const skipped = new Map(advice.skipped.map((s) => [s.id, s.why]));
  expect(skipped.get("fuel-pressure")).toContain("fuel pressure gauge");
  expect(skipped.get("pulse-spray")).toContain("after Fuel pressure");
  const open = consider(
    { complaints: ["no-start"], log: [result("fuel-pressure", "right", 1)] },
    { steady: false },
  );
  expect(open.possible.map((p) => p.check.id)).toContain("pulse-spray");
});

test("what is opened already makes its neighbours cheaper", () => {
  const cost = (situation: Situation, id: string): number =>
    consider(situation, { steady: false }).possible.find((p) => p.check.id === id)?.minutes ?? Number.NaN;
  const fresh: Situation = { complaints: ["rough"] };
  const opened: Situation = { complaints: ["rough"], log: [result("plugs-look", "normal", 1)] };
  expect(cost(opened, "compression")).toBeLessThan(cost(fresh, "compression"));
});

test("an engine that does not turn is asked nothing that needs turning", () => {
  const still = consider(
    { complaints: ["no-start"], log: [result("listen-starter", "silent", 1)] },
    { steady: false },
  );
  expect(still.state).toBe("key");
  for (const { check } of still.possible) expect(check.state).toBe("key");
});

test("a diesel is not asked for sparks, nor offered starting fluid; a petrol engine no glow plugs", () => {
  const diesel = consider({ complaints: ["no-start"], facts: { fuel: "diesel" } }, { steady: false });
  const ids = diesel.possible.map((p) => p.check.id);
  expect(ids).not.toContain("spark-test");
  expect(ids).not.toContain("add-fuel");
  expect(ids).toContain("glow-current");
  const place = diesel.model.place.get("spark-dead") ?? -1;
  expect(diesel.held.shares[place]).toBe(0);
  expect(
    consider({ complaints: ["no-start"] }, { steady: false }).possible.map((p) => p.check.id),
  ).not.toContain("glow-current");
});

test("a worthless hour makes money count alone: the order of checks moves with the price of time", () => {
  const minutes = (perHour: number): number => {
    const { possible } = consider({ complaints: ["no-start"] }, { steady: false, preferences: { perHour } });
    return possible.find((p) => p.check.id === "smoke")?.cost ?? Number.NaN;
  };
  expect(minutes(0)).toBe(1);
  expect(minutes(60)).toBeCloseTo(16, 9);
});

test("the person's own order and check override, and the advice says so", () => {
  const own = { order: ["engine-tight"], next: "turn-by-hand" };
  const advice = advise({ complaints: ["no-start"] }, { own });
  expect(first(advice)).toBe("engine-tight");
  expect(advice.next).toMatchObject({ kind: "check", check: { id: "turn-by-hand" } });
  expect(advice.overridden).toHaveLength(2);
  expect(adviceText(advice)).toContain("Put first by hand");
  expect(advise({ complaints: ["no-start"] }).overridden).toHaveLength(0);
});

test("buying a part never stands first while a cheaper check at hand could still change the answer", () => {
  const model = buildModel();
  const random = fc.integer({ min: 1, max: 1e6 });
  fc.assert(
    fc.property(
      fc.constantFrom(...complaints),
      fc.array(fc.tuple(fc.nat(rows.length - 1), fc.nat(5)), { maxLength: 9 }),
      random,
      (complaint, picks, seed) => {
        const log = picks.flatMap(([c, k], i) => {
          const check = rows[c];
          const outcome = check?.outcomes[k % check.outcomes.length];
          return check === undefined || outcome === undefined ? [] : [result(check.id, outcome.id, i)];
        });
        const {
          decision,
          possible,
          preferences,
          held,
          model: used,
        } = consider(
          { complaints: [complaint], log },
          { steady: false, model: seed % 2 === 0 ? model : shaken(model, seeded(seed)) },
        );
        if (decision.choice.kind !== "repair" || !decision.choice.repair.buys) return;
        const { repair } = decision.choice;
        const repairs = repairsOf(used, preferences.perHour);
        const likeliest = (shares: Float64Array): string => {
          const scored = repairs.map((r) => ({
            act: r.act,
            ratio: r.causes.reduce((sum, i) => sum + (shares[i] ?? 0), 0) / r.guess,
          }));
          return scored.sort((a, b) => b.ratio - a.ratio)[0]?.act ?? "";
        };
        for (const one of possible.filter((p) => p.cost < repair.full)) {
          if (!one.question.rowOf.some((row, h) => row > 0 && (held.belief.shares[h] ?? 0) >= 0.003))
            continue;
          const expects = held.belief.expects(one.question);
          one.question.outcomes.forEach((_, k) => {
            if ((expects[k] ?? 0) < couldChange) return;
            const after = held.belief.sharesAfter(one.question, k);
            expect(likeliest(after), one.check.id).toBe(repair.act);
            const share = repair.causes.reduce((sum, i) => sum + (after[i] ?? 0), 0);
            expect(share, one.check.id).toBeGreaterThanOrEqual(leastToBuy);
          });
        }
      },
    ),
    { numRuns: 150 },
  );
});

test("a part that one cheap look at it could take off the list is looked at before it is bought", () => {
  // Lean in proportion to the air on an engine with an air-flow meter: the meter is likely, and unplugging it is quick.
  const lean: Situation = {
    complaints: ["lean"],
    facts: { metering: "air-flow" },
    heard: [heard({ signs: [sign("mixture.metering", "outside", { side: "high" })] })],
  };
  // Everything asked for is as it should be, save that fuel at idle makes it smoother.
  const log: LogEntry[] = [];
  for (let i = 0; i < 30; i++) {
    const { next } = advise({ ...lean, log }, { steady: false });
    if (next.kind !== "check") break;
    const row = rows.find((c) => c.id === next.check.id);
    const said = next.check.id === "fuel-added-idle" ? "smoother" : row?.outcomes.find((o) => o.normal)?.id;
    log.push(result(next.check.id, said ?? "", i));
  }
  expect(log.map((e) => (e.k === "result" ? e.check : ""))).toContain("meter-unplug");
});

test("the order of entering results does not matter, nor does the order of signs", () => {
  const log = [
    result("spark-test", "good", 1),
    result("fuel-pressure", "low", 2),
    result("pump-current", "little", 3),
    result("fuel-pressure-load", "falls", 4),
  ];
  const signs = [
    sign("power.crank-voltage", "near"),
    sign("crank.no-fire", "outside"),
    sign("crank.speed", "within"),
  ];
  const shares = (l: typeof log, s: typeof signs): number[] => [
    ...consider({ complaints: ["no-start"], log: l, heard: [heard({ signs: s })] }, { steady: false }).held
      .shares,
  ];
  const one = shares(log, signs);
  const other = shares([...log].reverse(), [...signs].reverse());
  one.forEach((share, i) => expect(other[i]).toBeCloseTo(share, 9));
});

test("a sign that cannot tell says nothing; one near the edge says less than one outside", () => {
  const share = (verdict: "cannot-tell" | "near" | "outside" | "within"): number => {
    const c = consider(
      { complaints: ["no-start"], heard: [heard({ signs: [sign("crank.no-speed", verdict)] })] },
      { steady: false },
    );
    return c.held.shares[c.model.place.get("crank-signal-dead") ?? -1] ?? 0;
  };
  const nothing = consider({ complaints: ["no-start"] }, { steady: false });
  expect(share("cannot-tell")).toBeCloseTo(
    nothing.held.shares[nothing.model.place.get("crank-signal-dead") ?? -1] ?? 0,
    12,
  );
  expect(share("outside")).toBeGreaterThan(share("near"));
  expect(share("near")).toBeGreaterThan(share("cannot-tell"));
  expect(share("within")).toBeLessThan(share("cannot-tell"));
});

test("a complaint that the recording shows as well counts once", () => {
  const lean = heard({ signs: [sign("mixture.lean", "outside")] });
  expect(consider({ complaints: ["lean"], heard: [lean] }, { steady: false }).evidence).toHaveLength(0);
  expect(consider({ complaints: ["rough"], heard: [lean] }, { steady: false }).evidence).toHaveLength(1);
});

test("cautions and steps are in the advice itself", () => {
  const { next, cautionFirst } = advise(sagWithoutSpeed);
  if (next.kind !== "check") throw new Error("a check was expected");
  expect(next.check.steps.length).toBeGreaterThan(0);
  expect(cautionFirst).toContain("manual");
  const fluid = rows.find((c) => c.id === "add-fuel");
  if (fluid === undefined) throw new Error("add-fuel");
  expect(
    plainCheck(fluid)
      .cautions.map((c) => c.text)
      .join(" "),
  ).toMatch(/glow plugs/);
  const text = adviceText(advise({ complaints: ["no-start"] }, { own: { next: "add-fuel" } }));
  expect(text).toContain("Caution:");
  expect(text.indexOf("Caution:")).toBeLessThan(text.indexOf("1. A short burst"));
});

test("a sensor that never wakes, one that stays lean: its own side speaks, not where its figure lies", () => {
  const oxygen = (more: Partial<Sign>): Sign =>
    sign("sensor.oxygen", "outside", {
      measured: { value: 0.02, unit: "V", what: "swing", samples: 60, rate: 1 },
      range: { low: 0.3, high: 0.6, unit: "V", source: "written here", replaced: false },
      ...more,
    });
  const share = (more: Partial<Sign>, id: string): number => {
    const { model, held } = consider(
      { complaints: ["rich"], heard: [heard({ signs: [oxygen(more)] })] },
      { steady: false },
    );
    return held.shares[model.place.get(id) ?? -1] ?? 0;
  };
  expect(share({}, "oxygen-dead")).toBeGreaterThan(2 * share({ side: "high" }, "oxygen-dead"));
  expect(share({ side: "high" }, "pressure-high")).toBeGreaterThan(share({}, "pressure-high"));
  expect(share({ side: "high" }, "pressure-high")).toBeGreaterThan(share({ side: "low" }, "pressure-high"));
});

test("what is measured at the crank sensor itself outweighs what the module made of its signal", () => {
  const weak = advise({ ...sagWithoutSpeed, log: [result("crank-sensor", "weak", 5)] });
  expect(first(weak)).toBe("crank-signal-weak");
  expect(first(advise({ ...sagWithoutSpeed, log: [result("crank-sensor", "none", 5)] }))).toBe(
    "crank-signal-dead",
  );
});

test.each([
  ["infrared", "agree", "coolant-reads-cold", sign("sensor.coolant-intake", "outside", { side: "low" })],
  ["oxygen-propane", "swings", "oxygen-dead", sign("sensor.oxygen", "outside")],
  ["sensor-pressure", "follows", "manifold-sensor", sign("sensor.manifold-still", "outside")],
  ["module-feed", "small", "module-supply", sign("power.feed-drop", "outside", { side: "high" })],
] as const)("%s is a second measurement: it counts full beside the sign", (check, said, cause, one) => {
  const situation = (log: LogEntry[]): Situation => ({
    complaints: ["rich", "starts-and-dies"],
    facts: { metering: "manifold-pressure" },
    heard: [heard({ signs: [one] })],
    log,
  });
  const odds = (log: LogEntry[]): number => {
    const { held, model } = consider(situation(log), { steady: false });
    const p = held.belief.shares[model.place.get(cause) ?? -1] ?? 0;
    const other = held.belief.shares[model.place.get("fuel-stale") ?? -1] ?? 0;
    return p / other;
  };
  const { model } = consider(situation([]), { steady: false });
  const question = model.questions.get(`check:${check}`);
  if (question === undefined) throw new Error(`no question of ${check}`);
  const k = question.outcomes.indexOf(said);
  const at = model.place.get(cause) ?? -1;
  const factor = likelihood(question, k, at) / (question.rows[0]?.[k] ?? 1);
  expect(odds([result(check, said, 5)]) / odds([]) / factor).toBeCloseTo(1, 6);
  expect(factor).toBeLessThan(0.2);
});

test("complaints from a recording and from a person's words", () => {
  expect(
    complaintsOf(findings({ signs: [sign("misfire.rough", "outside"), sign("mixture.lean", "outside")] })),
  ).toEqual(["rough", "lean"]);
  expect(complaintsOf(findings())).toEqual([]);
  const of = (id: string, more: Partial<Sign> = {}): string[] =>
    complaintsOf(findings({ signs: [sign(id, "outside", more)] }));
  expect(of("mixture.hunting")).toEqual(["surges"]);
  expect(of("mixture.delivery")).toEqual(["lean"]);
  expect(of("mixture.unmetered-air", { side: "low" })).toEqual(["rich"]);
  expect(of("mixture.lambda", { side: "high" })).toEqual(["lean"]);
  expect(of("sensor.oxygen", { side: "low" })).toEqual(["lean"]);
  expect(of("sensor.oxygen")).toEqual(["rich"]);
  expect(of("mixture.loop")).toEqual(["rich"]);
  expect(of("misfire.codes")).toEqual(["rough"]);
  // A cylinder that does not burn makes the sensor call it lean: its code says nothing of its own then.
  const stored = (...codes: string[]): Findings["codes"] =>
    codes.map((code) => ({ code, module: "7E8", kind: "stored", t: 100 }));
  expect(complaintsOf(findings({ codes: stored("P0171") }))).toEqual(["lean"]);
  expect(complaintsOf(findings({ codes: stored("P0171", "P0303") }))).toEqual(["rough"]);
  expect(
    complaintsOf(findings({ codes: stored("P0171", "P0303"), signs: [sign("mixture.lean", "outside")] })),
  ).toEqual(["rough", "lean"]);
  // What says itself where the mixture stands goes before what only lacks.
  expect(
    complaintsOf(findings({ signs: [sign("mixture.lean", "outside"), sign("mixture.loop", "outside")] })),
  ).toEqual(["lean"]);
  expect(complaintsOf(findings({ signs: [sign("mixture.hunting", "near")] }))).toEqual([]);
  expect(complaintsInWords("stood all winter, will not start")).toEqual(["no-start"]);
  expect(complaintsInWords("starts, then dies after two seconds")).toEqual(["starts-and-dies"]);
  expect(complaintsInWords("shakes at idle, smells rich")).toEqual(["rough", "rich"]);
  for (const words of ["hard to start", "starts badly", "hardly starts"])
    expect(complaintsInWords(words), words).toEqual(["no-start"]);
  for (const [words, told] of [
    ["cranks slowly when cold", "cranks-slowly"],
    ["hard to start when hot", "hard-hot-start"],
    ["no power uphill", "no-power"],
    ["surges at idle", "surges"],
    ["engine light is on", "lamp-on"],
    ["lamps too bright, battery boils", "overcharges"],
    ["no module answers", "no-answer"],
  ] as const)
    expect(complaintsInWords(words), words).toEqual([told]);
  expect(complaintsInWords("battery lamp stays on, does not charge")).toEqual(["not-charging"]);
  expect(complaintsInWords("yearly service")).toEqual([]);
  expect(complaintsInWords("hardly any power")).toEqual(["no-power"]);
});

test("an engine that starts hardly is complained of; what is left to go on comes to a complaint of its own", () => {
  const started = { ...crank(1000, 95, 5, 3), outcome: "started" as const };
  const of = (id: string, side?: "low" | "high", cranks: Crank[] = [started]): string[] =>
    complaintsOf(findings({ cranks, signs: [sign(id, "outside", side === undefined ? {} : { side })] }));
  expect(of("crank.speed", "low")).toEqual(["no-start"]);
  expect(of("crank.time-to-fire", "high")).toEqual(["no-start"]);
  // Faster than usual is nothing that a driver would tell.
  expect(of("crank.speed", "high")).toEqual([]);
  // Nobody tried to start it here: what a slow crank would come to is not known.
  expect(of("crank.drag", undefined, [])).toEqual([]);
  expect(of("power.charging", "low")).toEqual(["not-charging"]);
  expect(of("power.charging", "high")).toEqual(["overcharges"]);
  expect(of("sensor.coolant-intake", "low")).toEqual(["rich"]);
  expect(of("mixture.banks")).toEqual(["lean"]);
  // What is complained of by itself goes before what something would come to.
  const both = [sign("power.charging", "outside", { side: "low" }), sign("misfire.rough", "outside")];
  expect(complaintsOf(findings({ signs: both }))).toEqual(["rough"]);
});

test("where nothing but the charging is low, the belt and the wires are looked at before an alternator is bought", () => {
  const low = heard({
    cranks: [{ ...crank(1000, 184, 1, 60), outcome: "started" }],
    signs: [sign("power.charging", "outside", { side: "low" }), sign("power.crank-voltage", "within")],
  });
  const complaints = complaintsOf(low.findings);
  expect(complaints).toEqual(["not-charging"]);
  const situation: Situation = { complaints, heard: [low] };
  expect(first(advise(situation))).toBe("alternator-dead");
  const before = new Set<string>();
  const log: LogEntry[] = [];
  let { next } = advise(situation);
  for (let i = 0; i < 16 && next.kind === "check"; i++) {
    const { id } = next.check;
    before.add(id);
    const usual = rows.find((row) => row.id === id)?.outcomes.find((o) => o.normal === true)?.id ?? "";
    // What a battery that nobody charges shows, and its lamp; all else is as usual.
    const low: Record<string, string> = {
      "alternator-output": "little",
      "asked-lamp": "battery",
      "rest-voltage": "low",
    };
    log.push(result(id, low[id] ?? usual, i));
    ({ next } = advise({ ...situation, log: [...log] }));
  }
  expect([...before]).toEqual(expect.arrayContaining(["belt-look", "drop-charging"]));
  expect(next).toMatchObject({ kind: "repair", cause: "alternator-dead" });
});

test("where it cranks slowly and starts, what turns it comes first, and checks of a running engine can be done", () => {
  const slow: Situation = {
    complaints: ["no-start"],
    heard: [
      heard({
        cranks: [{ ...crank(1000, 95, 5, 3), outcome: "started" }],
        signs: [sign("crank.speed", "outside", { side: "low" }), sign("power.crank-voltage", "outside")],
      }),
    ],
  };
  const seen = consider(slow, { steady: false });
  expect(seen.state).toBe("runs");
  expect(seen.possible.map((p) => p.check.id)).toContain("alternator-output");
  expect(seen.evidence.map((e) => e.words)).toContain("It starts");
  expect(first(advise(slow))).toMatch(/^battery-|^engine-tight|^cable-drop|^alternator-dead/);
  const vain = { ...crank(1000, 95, 5, 3), outcome: "turned-and-did-not-fire" as const };
  const dead = consider({ complaints: ["no-start"], heard: [heard({ cranks: [vain] })] }, { steady: false });
  expect(dead.state).toBe("turns");
  expect(dead.evidence.map((e) => e.words)).not.toContain("It starts");
});
