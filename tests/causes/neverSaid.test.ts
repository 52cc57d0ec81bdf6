/** Lines that a technician would laugh at, each with the situation that once brought it. */
import { describe, expect, test } from "vitest";
import { advise } from "../../src/interpret/causes/advice.ts";
import type { Advice } from "../../src/interpret/causes/adviceSchema.ts";
import { adviceText } from "../../src/interpret/causes/adviceText.ts";
import { complaintsOf } from "../../src/interpret/causes/complaint.ts";
import type { Situation } from "../../src/interpret/causes/evidence.ts";
import { likelihood } from "../../src/interpret/causes/model.ts";
import { couldChange } from "../../src/interpret/causes/next.ts";
import type { LogEntry } from "../../src/interpret/causes/results.ts";
import { causes } from "../../src/interpret/causes/tables/causes.ts";
import { complaints, type CauseRow } from "../../src/interpret/causes/types.ts";
import { consider, tablesModel } from "../../src/interpret/causes/visit.ts";
import type { Crank } from "../../src/interpret/index.ts";
import { adviceSentence } from "../../src/sheet/advised.ts";
import { act, crank, findings, heard, result, sign } from "./support.ts";

const rows: readonly CauseRow[] = causes;
const share = (situation: Situation, id: string): number => {
  const { held, model } = consider(situation, { steady: false });
  return held.shares[model.place.get(id) ?? -1] ?? 0;
};
const started: Crank = { ...crank(1000, 190, 20, 1), outcome: "started" };
const sound = [
  "crank.no-fire",
  "crank.speed",
  "power.crank-voltage",
  "power.rest-voltage",
  "power.feed-drop",
];

const healthyStart: Situation = {
  complaints: ["no-start"],
  heard: [heard({ cranks: [started], signs: sound.map((id) => sign(id, "within")) })],
};

describe("that something was seen is evidence", () => {
  test("a healthy start leaves next to nothing of a dead crank signal, a starter without command, a dead pump", () => {
    for (const id of ["crank-signal-dead", "starter-feed-open", "pump-dead", "spark-dead", "relay-open"])
      expect(share(healthyStart, id), id).toBeLessThan(0.03);
    // What comes and goes is left.
    expect(share(healthyStart, "crank-signal-contact")).toBeGreaterThan(0.03);
  });

  test("that it starts, or that all is within, pleads for no cause but one that comes and goes", () => {
    const { causes: listed } = advise(healthyStart, { steady: false });
    for (const cause of listed) {
      const intermittent = rows.find((r) => r.id === cause.id)?.intermittent === true;
      const healthy = cause.for.filter((e) => /^It starts|is within/.test(e.words));
      if (!intermittent) expect(healthy, cause.id).toEqual([]);
    }
  });

  test("an engine that idles at a good charge is not told of a discharged battery first", () => {
    const idling = heard({
      regimes: [{ from: 0, to: 60_000, regime: "idle-warm" }],
      signs: [sign("power.charging", "within"), sign("mixture.idle-speed", "within")],
    });
    const advice = advise({ complaints: ["no-start"], heard: [idling] }, { steady: false });
    expect(advice.causes[0]?.id).not.toBe("battery-discharged");
    const { state } = consider({ complaints: ["no-start"], heard: [idling] }, { steady: false });
    expect(state).toBe("runs");
  });

  test("a speed that was seen, and that it fired, take off what would have kept it from that", () => {
    const seen = (outcome: Crank["outcome"]): Situation => ({
      complaints: ["no-start"],
      heard: [heard({ cranks: [{ ...started, outcome }] })],
    });
    const none: Situation = { complaints: ["no-start"] };
    expect(share(seen("turned-and-did-not-fire"), "crank-signal-dead")).toBeLessThan(
      0.2 * share(none, "crank-signal-dead"),
    );
    expect(share(seen("turned-and-did-not-fire"), "pump-dead")).toBeGreaterThan(share(none, "pump-dead"));
    expect(share(seen("fired-and-died"), "spark-dead")).toBeLessThan(0.3 * share(none, "spark-dead"));
  });

  test("by the tables no healthy outcome is likelier with a fault than without, unless its row says why", () => {
    const model = tablesModel();
    for (const q of model.questions.values()) {
      if (/^(?:changed|reversed|code|seen):/.test(q.id)) continue;
      q.outcomes.forEach((outcome, k) => {
        if (q.normal[k] !== true || q.why[k] !== undefined) return;
        model.causes.forEach((cause, at) => {
          const ratio = likelihood(q, k, at) / (q.rows[0]?.[k] ?? 1);
          expect(ratio, `${q.id} ${outcome} ${cause.id}`).toBeLessThanOrEqual(1.05);
        });
      });
    }
  });
});

describe("what came after a change is weighed as after it", () => {
  test("a start after the repair does not speak against the cause that was mended", () => {
    const log: LogEntry[] = [
      result("crank-sensor", "none", 1),
      act("crank-signal-dead", "changed", "gone", 30),
    ];
    const after = heard({ cranks: [started], signs: [sign("crank.no-speed", "within")] }, 40);
    const before = { complaints: ["no-start"] as const, log };
    const both = { ...before, heard: [after] };
    expect(share(both, "crank-signal-dead")).toBeCloseTo(share(before, "crank-signal-dead"), 9);
    const cause = advise(both, { steady: false }).causes.find((c) => c.id === "crank-signal-dead");
    expect(cause?.against).toEqual([]);
    expect(cause?.proof.state).toBe("proved");
  });

  test("measured right afterwards, it speaks against nothing; measured before, it does", () => {
    const fixed = act("pump-dead", "changed", "gone", 30);
    const good = (minute: number): Situation => ({
      complaints: ["no-start"],
      log: [fixed, result("fuel-pressure", "right", minute)],
    });
    expect(share(good(40), "pump-dead")).toBeGreaterThan(3 * share(good(20), "pump-dead"));
  });

  test("once the change is undone, what is seen is the fault again", () => {
    const log: LogEntry[] = [result("relay-swap", "works", 1), result("relay-back", "returns", 5)];
    const again = [...log, result("spark-test", "none", 9)];
    const evidence = (l: LogEntry[]): number =>
      consider({ complaints: ["no-start"], log: l }, { steady: false }).evidence.length;
    expect(evidence(again)).toBe(evidence(log) + 1);
  });
});

describe("what is proved is the part", () => {
  const swapped: LogEntry[] = [result("relay-volts", "none", 0), result("relay-swap", "works", 1)];
  const back: LogEntry[] = [...swapped, result("relay-back", "returns", 5)];
  const ofRelay = (advice: Advice): Advice["causes"] =>
    advice.causes.filter((c) => c.id.startsWith("relay-"));

  test("not while the card still says to change it back, whatever agrees", () => {
    const advice = advise({ complaints: ["no-start"], log: swapped }, { steady: false });
    expect(advice.next).toMatchObject({ kind: "check", check: { id: "relay-back" } });
    for (const cause of ofRelay(advice)) expect(cause.proof.state).not.toBe("proved");
  });

  test("one part is proved once, and how it failed is said beside it with its share", () => {
    const advice = advise({ complaints: ["no-start"], log: back }, { steady: false });
    const [relay, ...more] = ofRelay(advice);
    expect(more).toEqual([]);
    expect(relay?.proof.state).toBe("proved");
    expect(relay?.name).toBe("Relay (relay box)");
    expect(relay?.modes?.length).toBeGreaterThan(1);
    const all = (relay?.modes ?? []).reduce((sum, m) => sum + m.share, 0);
    expect(all).toBeGreaterThan(0.85);
    expect(all).toBeLessThan(1.15);
    expect(relay?.proof.words).toMatch(/How it failed: .*about \d+ %/);
  });
});

describe("each cause has its own proof", () => {
  test("no two alike, and nobody is told to refit what is dead", () => {
    const byText = new Map<string, string[]>();
    for (const row of rows) byText.set(row.proof, [...(byText.get(row.proof) ?? []), row.id]);
    for (const [text, ids] of byText) {
      const same = ids.every((id) => id.startsWith("coolant-reads-"));
      expect(ids.length === 1 || same, text).toBe(true);
    }
    for (const row of rows) expect(row.proof).not.toMatch(/undo it and see it come back/i);
  });

  test("the advice tells that one", () => {
    const advice = advise(
      { complaints: ["no-start"], log: [result("pump-listen", "silent", 1)] },
      { steady: false },
    );
    const pump = advice.causes.find((c) => c.id === "pump-dead");
    expect(pump?.proof.wouldProve).toContain("No need to refit the dead pump");
  });
});

describe("where nothing is told", () => {
  test("a stored code states what it is about", () => {
    const stored = findings({ codes: [{ code: "P0016", module: "7E8", kind: "stored", t: 100 }] });
    const told = complaintsOf(stored);
    expect(told).toEqual(["lamp-on"]);
    const advice = advise({ complaints: told, heard: [{ recording: "a", started: "", findings: stored }] });
    expect(["timing-slipped", "cam-phaser"]).toContain(advice.causes[0]?.id);
    expect(advice.next.kind).not.toBe("give-up");
    expect(advice.none.share).toBeLessThan(0.3);
  });

  test.each([
    ["nothing was seen", [], /nothing seen.*what does it do\?/i],
    [
      "all was within",
      [sign("mixture.trims", "within")],
      /healthy as far as it was seen: 1 sign judged.*what does it do\?/i,
    ],
  ] as const)("%s: it is asked what the vehicle does, and nobody is sent away", (_name, signs, words) => {
    const advice = advise({ complaints: [], heard: [heard({ signs: [...signs] })] });
    expect(advice.next.kind).toBe("ask");
    for (const text of [adviceText(advice), adviceSentence(advice)]) {
      expect(text.replace(/\s+/g, " ")).toMatch(words);
      expect(text).not.toMatch(/none of these|hand it over|nearly certain/i);
    }
  });
});

describe("what goes first", () => {
  const relayLikely: Situation = {
    complaints: ["no-start"],
    heard: [heard({ codes: [{ code: "P0685", module: "7E8", kind: "stored", t: 100 }] })],
  };

  test("a check that leaves the same cause first whatever comes of it does not go first", () => {
    const situations: Situation[] = [
      relayLikely,
      healthyStart,
      ...complaints.map((c) => ({ complaints: [c] })),
    ];
    for (const situation of situations) {
      const { decision } = consider(situation, { steady: false });
      if (decision.choice.kind !== "check" || decision.choice.why !== "saves") continue;
      const { reorders, changes } = decision.choice.check;
      expect(Math.max(reorders, changes), decision.choice.check.check.id).toBeGreaterThanOrEqual(couldChange);
    }
  });

  test("the two-minute swap of the likeliest part is listed, where it is not the next thing itself", () => {
    const advice = advise(relayLikely, { steady: false });
    expect(advice.causes[0]?.id).toMatch(/^relay-/);
    const shown = [
      ...(advice.next.kind === "check" ? [advice.next.check.id] : []),
      ...advice.others.map((o) => o.id),
    ];
    expect(shown).toContain("relay-swap");
  });

  test("the current of a pump that runs says nothing of a relay that does not close", () => {
    const model = tablesModel();
    const q = model.questions.get("check:pump-current");
    if (q === undefined) throw new Error("pump-current");
    const at = model.place.get("relay-open") ?? -1;
    const little = q.outcomes.indexOf("little");
    expect(likelihood(q, little, at)).toBe(q.rows[0]?.[little]);
  });
});

test("stood all winter brings old fuel, the battery and rodents up", () => {
  const none: Situation = { complaints: ["no-start"] };
  const winter: Situation = { complaints: ["no-start"], log: [result("asked-stood", "months", 1)] };
  for (const id of ["fuel-stale", "battery-discharged", "battery-worn", "harness-damage"])
    expect(share(winter, id), id).toBeGreaterThan(1.5 * share(none, id));
});

test("more than 15 V while it runs is overcharging, of the regulator or its sense wire", () => {
  const over = findings({ signs: [sign("power.charging", "outside", { side: "high" })] });
  const told = complaintsOf(over);
  expect(told).toEqual(["overcharges"]);
  const advice = advise({ complaints: told, heard: [{ recording: "a", started: "", findings: over }] });
  expect(advice.causes.slice(0, 2).map((c) => c.id)).toEqual(["regulator-over", "sense-wire"]);
});
