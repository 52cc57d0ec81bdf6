/** What a meter shows becomes what is judged, and what a hurried person types instead is asked about. */
import { describe, expect, test } from "vitest";
import { boundsOf, judgeReading, type Judged } from "../../src/interpret/causes/judge.ts";
import { foldLog } from "../../src/interpret/causes/results.ts";
import { checkRow } from "../../src/interpret/causes/rows.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import type { HandCheckRow } from "../../src/interpret/causes/types.ts";
import { consider } from "../../src/interpret/causes/visit.ts";
import { figures } from "../../shared/ranges.ts";
import { ChannelStore } from "../../shared/channels.ts";
import { figureBeside } from "../../src/page/lib/job/besideFigure.ts";
import {
  emptyDraft,
  isWhole,
  judged as typedJudged,
  resultEntry,
} from "../../src/page/lib/job/resultDraft.ts";
import { resultText } from "../../src/sheet/logText.ts";
import { at, crank, result } from "./support.ts";

const rows: readonly HandCheckRow[] = handChecks;
const row = (id: string): HandCheckRow => {
  const found = checkRow(id);
  if (found === undefined) throw new Error(id);
  return found;
};
const judge = (id: string, unit: string, values: number[], beside?: number): Judged =>
  judgeReading(row(id), { values, unit, beside }, {});

describe("a 24 V system is two batteries in a row", () => {
  const of = (id: string, volts: number, supplyVolts?: 12 | 24): Judged =>
    judgeReading(row(id), { values: [volts], unit: "V" }, supplyVolts === undefined ? {} : { supplyVolts });

  test.each([
    ["rest-voltage", 25.2, "charged"],
    ["rest-voltage", 24.4, "low"],
    ["rest-voltage", 23.6, "flat"],
    ["load-test", 19.8, "holds"],
    ["load-test", 18.4, "falls"],
    ["starter-feed", 20, "there"],
    ["starter-feed", 11, "missing"],
    ["alternator-output", 28.2, "charges"],
    ["alternator-output", 25.4, "little"],
    ["alternator-output", 30.6, "much"],
  ] as const)("%s at %f V: %s", (id, volts, outcome) => {
    const judged = of(id, volts, 24);
    expect(judged).toMatchObject({ outcome, impossible: false });
    expect(judged.sum).toBe(`${volts} V ÷ 2 batteries = ${volts / 2} V each`);
    expect(of(id, volts / 2, 12).outcome).toBe(outcome);
  });

  test("more than 12 V can be, and nothing said of the supply: it is asked, and does not count", () => {
    const asked = of("rest-voltage", 25.2);
    expect(asked).toMatchObject({ outcome: null, impossible: true });
    expect(asked.question).toContain("Is it one of 24 V?");
    expect(of("rest-voltage", 25.2, 12).question).toContain("is not possible");
    expect(of("rest-voltage", 41, 24)).toMatchObject({ outcome: null, impossible: true });
  });

  test("at 15 V by hand and in the recording it overcharges; hand and sign have one edge", () => {
    const much = row("alternator-output").outcomes.find((o) => o.id === "much");
    expect(much?.from).toBe(figures.find((f) => f.of === "charging-voltage")?.high);
    expect(much?.from).toBe(figures.find((f) => f.of === "charging-burst")?.high);
    expect(of("alternator-output", 14.9).outcome).toBe("charges");
    const seen = consider({
      complaints: ["overcharges"],
      log: [{ k: "result", id: "r", at: at(1), check: "alternator-output", outcome: "much" }],
    });
    const share = (id: string): number => seen.held.shares[seen.model.place.get(id) ?? -1] ?? 0;
    expect(share("regulator-over") + share("sense-wire")).toBeGreaterThan(0.8);
  });
});

test("a diesel's starter may draw 400 A, and a petrol one may not", () => {
  expect(judge("current-starter", "A", [400]).outcome).toBe("high");
  expect(judge("current-starter-diesel", "A", [400]).outcome).toBe("usual");
  expect(judge("current-starter-diesel", "A", [600]).outcome).toBe("high");
  expect(row("current-starter").only?.fuel).not.toContain("diesel");
  expect(row("current-starter-diesel").only?.fuel).toEqual(["diesel"]);
});

describe("volts at a feed, with the battery's beside them", () => {
  test.each(["relay-volts", "coil-volts", "pump-volts"])(
    "%s: nothing there is no feed, battery voltage is one",
    (id) => {
      expect(judge(id, "V", [0.1], 12.4)).toMatchObject({ outcome: "none", impossible: false });
      expect(judge(id, "V", [12.2], 12.4).outcome).toBe("full");
      expect(judge(id, "V", [12.3], 12.4).outcome).toBe("full");
      expect(judge(id, "V", [10.4], 12.4).outcome).toBe("low");
      // While it is cranked the battery itself stands lower.
      expect(judge(id, "V", [10.1], 10.3).outcome).toBe("full");
      expect(judge(id, "mV", [100], 12_400).outcome).toBe("none");
      expect(judge(id, "V", [25.1], 25.4).outcome).toBe("full");
      // A volt at the feed above the battery's own is another moment or a slip.
      expect(judge(id, "V", [12.4], 10.2).outcome).not.toBe("none");
    },
  );

  test("the sum is shown as it was done, on the page and on the sheet", () => {
    const { sum, figure } = judge("relay-volts", "V", [12.2], 12.4);
    expect(sum).toBe("12.4 V at the battery − 12.2 V at the relay's output = 0.2 V lost");
    expect(figure?.value).toBeCloseTo(0.2, 9);
    const log = foldLog([
      {
        k: "result",
        id: "r",
        at: at(1),
        check: "pump-volts",
        reading: { values: [0.1], unit: "V", beside: 12.4 },
      },
    ]);
    const [one] = log.results;
    if (one === undefined) throw new Error("no result");
    expect(one.outcome).toBe("none");
    expect(resultText(one).says).toContain("12.4 V at the battery − 0.1 V at the pump = 12.3 V lost");
  });

  test("a silent pump with full voltage at it is not acquitted, and its relay is", () => {
    const share = (reading: { values: number[]; beside: number } | null, id: string): number => {
      const log = [
        result("pump-listen", "silent", 1),
        ...(reading === null
          ? []
          : [
              {
                k: "result" as const,
                id: "v",
                at: at(2),
                check: "pump-volts",
                reading: { ...reading, unit: "V" },
              },
            ]),
      ];
      const { held, model } = consider({ complaints: ["no-start"], log }, { steady: false });
      return held.shares[model.place.get(id) ?? -1] ?? 0;
    };
    const fed = { values: [12.2], beside: 12.4 };
    const dead = { values: [0.1], beside: 12.4 };
    expect(share(fed, "pump-dead")).toBeGreaterThan(share(null, "pump-dead"));
    expect(share(fed, "relay-open")).toBeLessThan(share(null, "relay-open"));
    expect(share(dead, "pump-dead")).toBeLessThan(share(null, "pump-dead"));
    expect(share(dead, "relay-open")).toBeGreaterThan(share(null, "relay-open"));
  });

  test("the page asks for both figures, keeps neither alone, and chooses the outcome by the sum", () => {
    const draft = { ...emptyDraft(["V", "mV"], at(1)), reading: "12.2" };
    expect(typedJudged(row("relay-volts"), draft, {})).toMatchObject({ outcome: null, question: true });
    expect(isWhole(draft, row("relay-volts"))).toBe(false);
    const both = { ...draft, beside: "12,4" };
    expect(isWhole(both, row("relay-volts"))).toBe(true);
    const said = typedJudged(row("relay-volts"), both, {});
    expect(said).toMatchObject({ outcome: "full", question: false });
    expect(said?.words).toContain("= 0.2 V lost");
    expect(resultEntry("r", "relay-volts", both, null)).toMatchObject({
      reading: { values: [12.2], unit: "V", beside: 12.4 },
    });
  });

  test("an entry of an older job is the loss, as it was asked for then", () => {
    expect(judge("relay-volts", "V", [0.1]).outcome).toBe("full");
    expect(judge("relay-volts", "V", [1.4]).outcome).toBe("low");
    // Battery voltage there was as likely what the meter showed: it is asked about, and what was chosen holds.
    const asked = foldLog([result("relay-volts", "", 1, { reading: { values: [12.3], unit: "V" } })]);
    expect(asked.results[0]).toMatchObject({ outcome: null });
    expect(judge("relay-volts", "V", [12.3]).question).toMatch(/what the meter shows, or what is lost/);
    const chosen = foldLog([result("relay-volts", "none", 1, { reading: { values: [12.3], unit: "V" } })]);
    expect(chosen.results[0]).toMatchObject({ state: "used", outcome: "none" });
  });

  test("where the recording knows the battery's voltage it is filled in, as it was in that state", () => {
    const channels = new ChannelStore();
    for (let t = 0; t < 10; t++) channels.append("socket-voltage", "", t * 1000, 12.6);
    const vain = { ...crank(1000, 180, 20, 3), outcome: "turned-and-did-not-fire" as const };
    const known = { channels, cranks: [vain], at: 9000, live: false };
    expect(figureBeside(["socket-voltage"], known)?.value).toBe(10.5);
    expect(figureBeside(["socket-voltage"], { ...known, cranks: [] })?.value).toBe(12.6);
    expect(figureBeside(["socket-voltage"], { ...known, live: true })?.value).toBe(12.6);
    expect(figureBeside(["socket-voltage"], { ...known, live: true, at: 60_000 })).toBeNull();
    expect(figureBeside(["coolant"], known)).toBeNull();
  });
});

describe("other readings that a hurried person turns round", () => {
  test("a thermometer's figure is taken from the module's, in either scale", () => {
    expect(judge("infrared", "°C", [88], 90).outcome).toBe("agree");
    expect(judge("infrared", "°C", [88], 40).outcome).toBe("colder");
    expect(judge("infrared", "°C", [20], 75).outcome).toBe("hotter");
    expect(judge("infrared", "°F", [190], 194).outcome).toBe("agree");
    expect(judge("infrared", "°F", [190], 104).outcome).toBe("colder");
    // Scales have no common zero: a difference of 18 °F is one of 10 °C.
    expect(judge("infrared", "°F", [18]).figure?.value).toBeCloseTo(10, 9);
  });

  test("bleed-down is the first figure less the one after a minute", () => {
    expect(judge("bleed-down", "kPa", [330], 350).outcome).toBe("holds");
    expect(judge("bleed-down", "psi", [20], 50).outcome).toBe("falls");
  });

  test("the voltage at the far end in place of what is lost on the way is asked about", () => {
    expect(judge("drop-cranking", "V", [9.8])).toMatchObject({ outcome: null, impossible: false });
    expect(judge("drop-charging", "V", [14.1]).outcome).toBeNull();
    expect(judge("module-feed", "V", [12.2]).outcome).toBeNull();
    expect(judge("drop-cranking", "V", [1.2]).outcome).toBe("large");
  });

  test("percent held is not percent lost", () => {
    expect(judge("leak-down", "% lost", [8, 9, 10, 7]).outcome).toBe("tight");
    expect(judge("leak-down", "% held", [92, 91, 90, 93]).outcome).toBe("tight");
    expect(judge("leak-down", "% held", [92, 40, 90, 93]).outcome).toBeNull();
    expect(judge("leak-down", "% lost", [92, 91, 90, 93]).question).toContain("% held");
    expect(judge("leak-down", "%", [8, 9, 10, 7]).outcome).toBe("tight");
  });

  test.each([
    ["fuel-pressure", "kPa", [45], "psi"],
    ["fuel-pressure", "kPa", [3.2], "bar"],
    ["compression", "kPa", [150, 148, 151, 149], "psi"],
    ["compression", "kPa", [12, 11.8, 12.1, 12], "bar"],
    ["rest-voltage", "mV", [12.6], "V"],
  ] as const)(
    "%s: a number that is a fault in %s and sound in another unit is asked about",
    (id, unit, values, meant) => {
      const found = judge(id, unit, [...values]);
      expect(found.outcome).toBeNull();
      expect(found.question).toContain(`In ${meant} it would be`);
      expect(judge(id, meant, [...values]).outcome).not.toBeNull();
      // What the person chooses goes before it.
      const abnormal = row(id).outcomes.find((o) => o.normal !== true)?.id ?? "";
      const log = foldLog([result(id, abnormal, 1, { reading: { values: [...values], unit } })]);
      expect(log.results[0]).toMatchObject({ state: "used", outcome: abnormal });
    },
  );

  test("no pressure at all is none in every unit", () => {
    expect(judge("fuel-pressure", "kPa", [0]).outcome).toBe("none");
    expect(judge("fuel-pressure", "kPa", [20]).outcome).toBe("none");
  });
});

/** "12.4", "0.25": the numbers of a text. */
const numbers = (text: string): number[] => [...text.matchAll(/-?\d+(?:\.\d+)?/g)].map((m) => Number(m[0]));

describe("limits, and what stands beside them", () => {
  const bounded = rows.flatMap((c) =>
    c.outcomes.filter((o) => o.from !== undefined || o.to !== undefined).map((o) => ({ check: c, o })),
  );

  test.each(bounded.map(({ check, o }) => [`${check.id} ${o.id}`, check, o] as const))(
    "%s: the text names its limits",
    (_name, _check, o) => {
      const told = numbers(o.text);
      if (told.length === 0) return;
      const limits = [o.from, o.to].filter((v) => v !== undefined).map(Math.abs);
      for (const n of told) expect(limits, o.text).toContain(n);
      const or = (pattern: RegExp, limit: number | undefined): void => {
        if (pattern.test(o.text)) expect(limit, o.text).toBe(told.at(-1));
      };
      or(/\bunder\b|or less/, o.to);
      or(/\bover\b|or more/, o.from);
      if (/\d to \d/.test(o.text)) expect([o.from, o.to]).toEqual(told);
    },
  );

  test.each(bounded.map(({ check, o }) => [`${check.id} ${o.id}`, check, o] as const))(
    "%s: just inside is this outcome, just beyond is the next",
    (_name, check, o) => {
      const { from, to } = boundsOf(o, check, {});
      if (check.reading?.figure !== "value") return;
      const [low, high] = check.reading.possible;
      const say = (value: number): string | null =>
        value < low || value > high
          ? null
          : judgeReading(check, { values: [value], unit: check.reading?.unit ?? "" }, {}).outcome;
      const step = 1e-6 * (high - low);
      for (const [inside, beyond] of [
        [from, from - step],
        [to - step, to],
      ] as const) {
        if (!Number.isFinite(inside)) continue;
        const doubted = check.reading.doubtful?.from ?? Number.POSITIVE_INFINITY;
        if (inside < doubted) expect([o.id, null]).toContain(say(inside));
        expect(say(beyond)).not.toBe(o.id);
      }
    },
  );

  test("every outcome with a limit names it, or its reading's source does", () => {
    for (const { check, o } of bounded) {
      const told = new Set(
        numbers(
          `${check.outcomes.map((x) => x.text).join(" ")} ${check.reading?.source} ${check.steps.join(" ")}`,
        ),
      );
      const spoken = /manual|lost|supply|none|low|high|holds|falls|colder|hotter|nothing|battery voltage/;
      for (const limit of [o.from, o.to]) {
        if (limit === undefined) continue;
        expect(told.has(Math.abs(limit)) || spoken.test(o.text), `${check.id} ${o.id} ${limit}`).toBe(true);
      }
    }
  });
});
