/**
 * Figures of the tables against what stands beside them, and against what is kept of them in `kept/`: every limit of a
 * reading with the outcome on either side of it; which causes each outcome, sign and code speaks for, the one it raises
 * most first, and behind the bar which it speaks against; cautions. Whoever corrects a row on purpose makes its line anew
 * (`npx vitest run tests/causes/figures.test.ts -u`) and reads the difference: nothing else may have moved.
 */
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { codeMeaning } from "../../shared/codeMeanings.ts";
import { judgeReading } from "../../src/interpret/causes/judge.ts";
import { buildModel, columnsOf, priorShares, type Question } from "../../src/interpret/causes/model.ts";
import { cautions } from "../../src/interpret/causes/tables/cautions.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import { codesSay } from "../../src/interpret/causes/tables/codesSay.ts";
import { complaints, type HandCheckRow } from "../../src/interpret/causes/types.ts";
import { signRow } from "../../src/interpret/tables/signs.ts";

const checks: readonly HandCheckRow[] = handChecks;
const kept = (lines: readonly string[], name: string): Promise<void> =>
  expect(`${lines.join("\n")}\n`).toMatchFileSnapshot(join(import.meta.dirname, "kept", name));
const byId = (id: string): HandCheckRow => {
  const check = checks.find((c) => c.id === id);
  if (check === undefined) throw new Error(`no check ${id}`);
  return check;
};

describe("numbers in an outcome's words and its limits", () => {
  /** The vehicle's manual has the figure, and words without a number say so. */
  const byManual: ReadonlySet<string> = new Set(["fuel-pressure", "fuel-pressure-load"]);
  /** Said in another way: "within 12" is 12 either way, "nothing" is all that is lost. */
  const otherWords: Readonly<Record<string, readonly number[]>> = { infrared: [-12], "pump-volts": [6] };
  const number = /(?<![\w.])\d+(?:\.\d+)?/g;
  const ranged = checks.filter((c) => c.outcomes.some((o) => o.from !== undefined || o.to !== undefined));

  test.each(ranged.filter(({ id }) => !byManual.has(id)).map((c) => [c.id, c] as const))(
    "%s",
    (id, check) => {
      const all = check.outcomes.map((o) => o.text).join("; ");
      for (const { text, from, to } of check.outcomes) {
        const limits = [from, to].filter((n) => n !== undefined);
        const said = [...text.matchAll(number)].map(([digits]) => Number(digits));
        for (const n of said) expect(limits.map(Math.abs), `"${text}"`).toContain(n);
        for (const limit of limits)
          if (otherWords[id]?.includes(limit) !== true)
            expect(all, `${limit} of "${text}"`).toContain(String(limit));
        if (said.length !== 1) continue;
        if (/\b(?:or more|over|above|more than)\b/.test(text)) expect(from, text).toBe(said[0]);
        if (/\b(?:under|below|less than|or less)\b/.test(text)) expect(to, text).toBe(said[0]);
      }
    },
  );
});

describe("limits of readings", () => {
  /** The outcome of a reading whose figure is this value. */
  function told(check: HandCheckRow, value: number): string {
    const { unit = "", figure } = check.reading ?? {};
    // Two cylinders, as far from their mean as that.
    const values = figure === "furthest-from-mean" ? [20 + value, 20 - value] : [value];
    const { outcome, impossible } = judgeReading(
      check,
      { values, unit: unit === "kPa fuel" ? "kPa" : unit },
      {},
    );
    return outcome ?? (impossible ? "impossible" : "asked");
  }

  test("one value either side of each, as it is kept, with its source", async () => {
    const lines = checks.flatMap((check) => {
      const all = check.outcomes.flatMap((o) => [o.from, o.to]).filter((n) => n !== undefined);
      const sorted = [...new Set(all)].sort((a, b) => a - b);
      return sorted.map((limit) => {
        const step = Math.max(1e-6, Math.abs(limit) * 1e-6);
        const sides = [told(check, limit - step), told(check, limit + step)];
        return `${check.id}: ${sides.join(` < ${limit} ${check.reading?.unit ?? "?"} <= `)} (${check.reading?.source ?? "?"})`;
      });
    });
    expect(lines.length).toBeGreaterThan(40);
    await kept(lines, "limits.txt");
  });

  test.each([
    ["rest-voltage", 11.9, "flat"],
    ["rest-voltage", 12.2, "low"],
    ["rest-voltage", 12.6, "charged"],
    ["load-test", 9.5, "falls"],
    ["load-test", 9.7, "holds"],
    ["alternator-output", 13.0, "little"],
    ["alternator-output", 14.2, "charges"],
    ["alternator-output", 16, "much"],
    ["fuel-pressure", 150, "low"],
    ["fuel-pressure", 350, "right"],
    ["leak-down", 10, "tight"],
    ["back-pressure", 30, "high"],
    ["bus-ohms", 60, "right"],
    ["bus-ohms", 120, "open"],
  ] as const)("%s of %d is %s, as its source has it", (id, value, outcome) => {
    expect(told(byId(id), value)).toBe(outcome);
  });
});

describe("which causes an outcome speaks for", () => {
  const model = buildModel();
  const asked = [...model.questions.values()].filter((q) => /^(?:check|sign|code|seen):/.test(q.id));

  /** "a > b = c | d": raised against the rest, the most first; behind the bar lowered. */
  function orderOf(q: Question, k: number): string {
    const rest = q.rows[0]?.[k] ?? Number.NaN;
    const ratios = model.causes.flatMap((cause, i): [number, string][] => {
      const row = q.rowOf[i] ?? 0;
      return row === 0 ? [] : [[(q.rows[row]?.[k] ?? Number.NaN) / rest, cause.id]];
    });
    const words = (some: [number, string][]): string =>
      some
        .sort(([a, x], [b, y]) => b - a || (x < y ? -1 : 1))
        .map(([ratio, id], i) => {
          const before = some[i - 1]?.[0];
          if (before === undefined) return id;
          return `${Math.abs(before - ratio) < 1e-9 * ratio ? " = " : " > "}${id}`;
        })
        .join("");
    const lowered = words(ratios.filter(([r]) => r < 1 - 1e-9));
    return words(ratios.filter(([r]) => r > 1 + 1e-9)) + (lowered === "" ? "" : ` | ${lowered}`);
  }

  test("each in its order, as it is kept", async () => {
    const lines = asked.flatMap((q) =>
      q.outcomes.flatMap((name, k) => (q.normal[k] === true ? [] : [`${q.id} ${name}: ${orderOf(q, k)}`])),
    );
    expect(lines.length).toBeGreaterThan(150);
    await kept(lines, "orders.txt");
  });

  /** What a technician would say, in the words of the outcome; common practice. */
  const said: readonly (readonly [question: string, outcome: string, more: string, less: string])[] = [
    ["check:rest-voltage", "flat", "battery-discharged", "battery-worn"],
    ["check:rest-voltage", "low", "battery-worn", "battery-discharged"],
    ["check:load-test", "falls", "battery-worn", "battery-discharged"],
    ["check:load-test", "falls", "battery-discharged", "cable-drop"],
    ["check:drop-cranking", "large", "cable-drop", "starter-worn"],
    ["check:drop-cranking", "some", "starter-worn", "cable-drop"],
    ["check:alternator-output", "little", "alternator-dead", "battery-worn"],
    ["check:alternator-output", "much", "regulator-over", "alternator-dead"],
    ["check:alternator-output", "much", "sense-wire", "charging-wire"],
    ["check:drop-charging", "large", "charging-wire", "alternator-dead"],
    ["check:module-feed", "drop", "module-supply", "relay-open"],
    ["check:module-feed", "none", "relay-open", "cable-drop"],
    ["check:crank-sensor", "none", "crank-signal-dead", "crank-signal-weak"],
    ["check:crank-sensor", "weak", "crank-signal-weak", "crank-signal-dead"],
    ["check:cam-sensor", "none", "cam-signal-dead", "timing-slipped"],
    ["check:fuel-pressure", "none", "pump-dead", "pump-weak"],
    ["check:fuel-pressure", "low", "pump-weak", "pump-dead"],
    ["check:fuel-pressure", "high", "pressure-high", "pump-weak"],
    ["code:P0335", "stored", "crank-signal-dead", "cam-signal-dead"],
    ["code:P0340", "stored", "cam-signal-dead", "crank-signal-dead"],
    ["code:P0171", "stored", "air-leak-large", "pressure-high"],
    ["code:P0172", "stored", "pressure-high", "air-leak-large"],
    ["sign:power.charging", "low", "alternator-dead", "regulator-over"],
    ["sign:power.charging", "high", "regulator-over", "alternator-dead"],
    ["sign:mixture.metering", "high", "air-meter-low", "air-meter-high"],
    ["sign:mixture.metering", "low", "air-meter-high", "air-meter-low"],
  ];
  test.each(said)("%s %s: %s rather than %s", (id, outcome, more, less) => {
    const q = model.questions.get(id);
    const k = q?.outcomes.indexOf(outcome) ?? -1;
    expect(k).toBeGreaterThanOrEqual(0);
    const column = q === undefined ? new Float64Array() : (columnsOf(q)[k] ?? new Float64Array());
    const p = (cause: string): number => column[model.place.get(cause) ?? -1] ?? Number.NaN;
    expect(p(more)).toBeGreaterThan(p(less));
  });

  test.each(model.causes.map((cause, at) => [cause.id, at] as const))(
    "the check that tells most of %s raises it and lowers what it does not speak of",
    (_, at) => {
      let best: { ratio: number; q: Question; k: number } | null = null;
      for (const q of asked) {
        const row = q.rowOf[at] ?? 0;
        if (row === 0) continue;
        for (const [k, isNormal] of q.normal.entries()) {
          const ratio = (q.rows[row]?.[k] ?? 0) / (q.rows[0]?.[k] ?? 1);
          if (!isNormal && ratio > (best?.ratio ?? 0)) best = { ratio, q, k };
        }
      }
      expect(best?.ratio ?? 0).toBeGreaterThan(4);
      if (best === null) return;
      const { q, k } = best;
      const column = columnsOf(q)[k] ?? new Float64Array();
      for (const complaint of complaints) {
        const { only } = model.causes[at] ?? {};
        const before = priorShares(model, [complaint], { fuel: only?.fuel?.[0] ?? "petrol" });
        if ((before[at] ?? 0) === 0) continue;
        const after = before.map((share, i) => share * (column[i] ?? 0));
        const sum = after.reduce((a, b) => a + b, 0);
        const share = (i: number): number => (after[i] ?? 0) / sum;
        // Alone among what the outcome does not speak of, it rises; they fall, wherever anything rises.
        const unspoken = model.causes.flatMap((_c, i) =>
          q.rowOf[i] === 0 && (before[i] ?? 0) > 0 ? [i] : [],
        );
        for (const i of unspoken) {
          expect(share(i)).toBeLessThan(before[i] ?? 0);
          expect(share(at) / share(i)).toBeGreaterThan((before[at] ?? 0) / (before[i] ?? 1));
        }
      }
    },
  );
});

describe("words of a side say that side", () => {
  const words: Readonly<Record<string, readonly [low: RegExp, high: RegExp]>> = {
    "power.rest-voltage": [/battery is low/, /too high for a battery at rest/i],
    "power.feed-drop": [/module sees more/, /module sees less/],
    "power.charging": [/not being charged/, /overcharged/],
    "crank.speed": [/too slowly/, /fast/],
    "sensor.key-on-manifold": [/reads less/, /reads more/],
    "sensor.coolant-intake": [/colder than the air/, /warmer than the air/],
    "sensor.temperature-circuit": [/cold end.*open/, /hot end.*shorted/],
    "sensor.coolant-warm": [/not warm/, /hotter/],
    "sensor.idle-air-flow": [/reads little/, /reads much/],
    "sensor.load-manifold": [/lower/, /higher/],
    "sensor.oxygen": [/stays lean/, /stays rich/],
    "mixture.unmetered-air": [/rich side/, /air enters/],
    "mixture.metering": [/too much fuel/i, /too little fuel/i],
    "mixture.lambda": [/reads rich/, /reads lean/],
    "mixture.idle-speed": [/idle is too low/, /idle is too high/],
    "mixture.idle-manifold": [/low/, /high/],
  };
  test.each(Object.entries(words))("%s", (id, [low, high]) => {
    const row = signRow(id);
    expect(row?.low).toMatch(low);
    expect(row?.high).toMatch(high);
  });
});

describe("banks are mirrored", () => {
  /** SAE J2012, from memory: bank 2 stands so many numbers further on. */
  const pairs = [
    ...["P0130", "P0131", "P0132", "P0133", "P0134", "P0135"].map((a) => [a, 20] as const),
    ...([
      ["P0141", 20],
      ["P0171", 3],
      ["P0172", 3],
      ["P0420", 10],
      ["P0010", 10],
      ["P0011", 10],
      ["P0016", 2],
    ] as const),
  ].map(([code, by]) => [code, `P${String(Number(code.slice(1)) + by).padStart(4, "0")}`] as const);

  test.each(pairs)("%s and %s mean the same of bank 1 and of bank 2", (one, two) => {
    const [first, second] = [codeMeaning(one), codeMeaning(two)];
    expect(first.meaning).toContain("bank 1");
    expect(second).toMatchObject({ known: first.known, meaning: first.meaning.replace("bank 1", "bank 2") });
  });

  test.each(pairs)("%s and %s speak of the same causes", (one, two) => {
    const says = (code: string) => codesSay.find((row) => row.code === code);
    const [first, second] = [says(one), says(two)];
    if (first === undefined) return;
    expect([second?.given, second?.group, second?.about]).toEqual([first.given, first.group, first.about]);
  });
});

describe("cautions", () => {
  test("each is used", () => {
    const used = new Set<string>(checks.flatMap((c) => (c.caution === "none needed" ? [] : c.caution)));
    expect(Object.keys(cautions).filter((id) => !used.has(id))).toEqual([]);
  });

  test("which stand with which check, as they are kept", async () => {
    await kept(
      checks.map((c) => `${c.id}: ${[c.caution].flat().join(", ")}`),
      "cautions.txt",
    );
  });
});
