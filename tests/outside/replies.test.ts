/**
 * What real control modules said, and what it means: 8,343 captured replies of five vehicles with their figures, from the
 * open collection OBDb (CC BY-SA 4.0), read from beside the checkout and never copied into it. Each goes through the
 * whole reading of a recording. A difference that lies in the figures and not in the replies has a name of its own here,
 * with the reason; it is counted and printed.
 */
import { readFileSync } from "node:fs";
import { gunzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { z } from "zod/mini";
import { monitorStatus } from "../../shared/enumerations.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { Reading } from "../../src/reading/index.ts";
import { capturedReplies } from "../support/tools.ts";
import { fitted, flags, looseFlags, named, states, type Named } from "./replyNames.ts";

const definition = z.object({
  id: z.string(),
  bix: z.optional(z.number()),
  len: z.number(),
  mul: z.optional(z.number()),
  div: z.optional(z.number()),
  add: z.optional(z.number()),
  sign: z.optional(z.boolean()),
  blsb: z.optional(z.boolean()),
  min: z.optional(z.number()),
  max: z.optional(z.number()),
  nullmin: z.optional(z.number()),
  nullmax: z.optional(z.number()),
});
type Definition = z.infer<typeof definition>;

const reply = z.object({
  to: z.array(z.string()),
  ask: z.string(),
  lines: z.array(z.string()),
  expected: z.record(z.string(), z.number()),
  defined: z.optional(z.array(definition)),
});
type Reply = z.infer<typeof reply>;

function replies(file: string): Reply[] {
  const text = gunzipSync(readFileSync(file)).toString("utf8");
  return text
    .split("\n")
    .filter((line) => line !== "")
    .map((line) => reply.parse(JSON.parse(line)));
}

const withData = test.skipIf(capturedReplies === null);
const all = capturedReplies === null ? [] : replies(capturedReplies);

function reading(row: Reply, parameters: DefinedParameter[] = []): Reading {
  const long = row.lines.some((line) => /^18 ?DA/.test(line));
  const found = new Reading("captured");
  const events: RecordingEvent[] = [
    { k: "link", t: 0, state: "protocol", protocol: long ? "can29-500" : "can11-500" },
    ...(parameters.length === 0 ? [] : [{ k: "defined" as const, t: 1, parameters }]),
  ];
  const to = parameters[0]?.to;
  if (to !== undefined)
    events.push({
      k: "x",
      t: 2,
      ask: `ATSH${to.length === 8 ? to.slice(2) : to}`,
      lines: ["OK"],
      first: 1,
      end: 2,
    });
  events.push({ k: "x", t: 10, ask: row.ask, lines: row.lines, first: 5, end: 9 });
  for (const event of events) found.event(event);
  return found;
}

const valuesOf = (found: Reading, channel: string): number[] =>
  found.channels.of(channel).flatMap(({ values }) => [...values].filter((v) => !Number.isNaN(v)));

/** Modules that answered: where there are several, the figures are those of one. */
const senders = ({ lines }: Reply): string[] => [
  ...new Set(
    lines.flatMap((line) => /^(?:18DAF1(..)|(7E[89A-F]))/.exec(line.replaceAll(" ", ""))?.slice(1) ?? []),
  ),
];

function has(found: Reading, channel: string, module: string): boolean {
  return found.channels.find(channel, module) !== undefined;
}

/** The figures stand with five decimals. */
const same = (a: number, b: number): boolean => Math.abs(a - b) <= 6e-6 + Math.abs(b) * 1e-9;

class Tally {
  readonly quirks = new Map<string, number>();
  readonly wrong: string[] = [];
  right = 0;

  quirk(name: string): void {
    this.quirks.set(name, (this.quirks.get(name) ?? 0) + 1);
  }

  print(what: string): void {
    const lines = [...this.quirks].map(([name, count]) => `  ${count} times: ${name}`);
    const whole = this.right + this.wrong.length;
    process.stdout.write(
      `${what}: ${this.right} of ${whole} replies as they should be\n${lines.join("\n")}\n`,
    );
  }
}

/** Null when the figure comes out; else what came. */
function figure(found: Reading, row: Named, wanted: number, tally: Tally): string | null {
  const came = valuesOf(found, row.channel);
  if (came.length === 0 && row.none !== undefined && same(row.none.figure, wanted)) {
    tally.quirk(row.none.name);
    return null;
  }
  const inTheirs = came.map((value) => (row.unit === undefined ? value : value * row.unit));
  if (inTheirs.some((value) => same(value, wanted))) return null;
  for (const { name, makes } of row.quirks ?? []) {
    if (!inTheirs.some((value) => same(makes(value), wanted))) continue;
    tally.quirk(name);
    return null;
  }
  return `${row.channel} ${came.join(" ")}`;
}

function service01(row: Reply, tally: Tally): string[] {
  const found = reading(row);
  const problems: string[] = [];
  const pid = parseInt(row.ask.slice(2), 16);
  for (const channel of states[row.ask] ?? [])
    if (valuesOf(found, channel).length === 0) problems.push(`no ${channel}`);
  for (const [name, wanted] of Object.entries(row.expected)) {
    if (pid === 0x01 || pid === 0x41) {
      problems.push(...monitors(found, pid, name, wanted));
      continue;
    }
    const bit = fitted[name];
    if (bit !== undefined) {
      const ok = valuesOf(found, "sensors-2-bank").some((raw) => ((raw >> bit) & 1) === wanted);
      if (!ok) problems.push(`${name} ${wanted}`);
      continue;
    }
    if (looseFlags.has(`${row.ask} ${name}`)) continue;
    const flag = flags[`${row.ask} ${name}`];
    if (flag !== undefined) {
      for (const channel of flag)
        if (!senders(row).some((m) => has(found, channel, m) === (wanted === 1)))
          problems.push(`${name} ${wanted} and ${channel}`);
      continue;
    }
    const known = named[`${row.ask} ${name}`];
    if (known === undefined) {
      problems.push(`no channel for ${name}`);
      continue;
    }
    const off = known.flag?.every((f) => row.expected[f] === 0) === true;
    if (off && senders(row).some((m) => !has(found, known.channel, m))) {
      tally.quirk("a value is listed though its module says that it is not there");
      continue;
    }
    const problem = figure(found, known, wanted, tally);
    if (problem !== null) problems.push(`${name} ${wanted}: ${problem}`);
  }
  return problems;
}

const continuous: Readonly<Record<string, number>> = { MIS: 0, FUEL: 1, CCM: 2 };
const others: Readonly<Record<string, string>> = {
  CAT: "catalyst",
  HCAT: "heated catalyst",
  EVAP: "evaporative system",
  AIR: "secondary air",
  ACRF: "A/C refrigerant or petrol particle filter",
  O2S: "oxygen sensor",
  HTR: "oxygen sensor heater",
  EGR: "EGR or valve timing",
};
/** The same bits on an engine that ignites by compression. */
const byCompression: Readonly<Record<string, string | null>> = {
  CAT: "NMHC catalyst",
  HCAT: "NOx or SCR",
  EVAP: null,
  AIR: "boost pressure",
  ACRF: null,
  O2S: "exhaust gas sensor",
  HTR: "particle filter",
  EGR: "EGR or valve timing",
};

function monitors(found: Reading, pid: number, name: string, wanted: number): string[] {
  const ok = valuesOf(found, pid === 1 ? "monitors" : "monitors-cycle").some((raw) => {
    const status = monitorStatus(raw);
    if (name === "MIL") return status.lamp === (wanted === 1);
    if (name === "DTC_CNT") return status.storedCodes === wanted;
    const match = /^(.*?)_?(SUP|RDY|ENA|CMPL)$/.exec(name);
    const system = match?.[1] ?? "";
    const place = continuous[system];
    const words = status.ignition === "compression" ? byCompression[system] : others[system];
    if (words === null) return true;
    const monitor =
      place === undefined ? status.monitors.find((m) => m.name === words) : status.monitors[place];
    if (monitor === undefined) return false;
    const fitted = monitor.state !== "not fitted";
    if (match?.[2] === "SUP" || match?.[2] === "ENA") return fitted === (wanted === 1);
    return !fitted || (monitor.state === "not complete") === (wanted === 1);
  });
  return ok ? [] : [`${name} ${wanted}`];
}

withData("every service 01 reply gives its figures", () => {
  const tally = new Tally();
  for (const row of all.filter(({ ask }) => ask.startsWith("01"))) {
    const problems = service01(row, tally);
    if (problems.length === 0) tally.right += 1;
    else tally.wrong.push(`${row.ask} ${row.lines.join(" / ")}: ${problems.join("; ")}`);
  }
  tally.print("service 01");
  expect(tally.wrong.slice(0, 10)).toEqual([]);
});

/** The definition as a person would write it down. */
function own(row: Reply, d: Definition): DefinedParameter {
  const [to = "", kept] = row.to;
  const long = to.startsWith("DA");
  const from = long ? `18DAF1${to.slice(2)}` : (kept ?? (parseInt(to, 16) + 8).toString(16).toUpperCase());
  const noValue = {
    ...(d.nullmin === undefined ? {} : { atOrBelow: d.nullmin }),
    ...(d.nullmax === undefined ? {} : { atOrAbove: d.nullmax }),
  };
  return {
    channel: `own-${d.id}`,
    name: d.id,
    request: row.ask,
    to: long ? `18${to}F1` : to,
    from,
    startBit: d.bix ?? 0,
    length: d.len,
    byteOrder: d.blsb === true ? "low-first" : "high-first",
    signed: d.sign === true,
    factor: d.mul ?? 1,
    divisor: d.div ?? 1,
    offset: d.add ?? 0,
    ...(Object.keys(noValue).length === 0 ? {} : { noValue }),
    ...{ unit: "ratio", kind: "value", source: "open collection OBDb" },
  };
}

function ownProblems(row: Reply, tally: Tally): string[] {
  const definitions = row.defined ?? [];
  const found = reading(
    row,
    definitions.map((d) => own(row, d)),
  );
  return definitions.flatMap((d) => {
    const wanted = row.expected[d.id];
    const came = valuesOf(found, `own-${d.id}`);
    if (wanted === undefined)
      return came.length === 0 ? [] : [`${d.id} ${came.join(" ")}, no value expected`];
    if (came.some((value) => same(value, wanted))) return [];
    const within = (value: number): number => Math.min(d.max ?? value, Math.max(d.min ?? 0, value));
    if (came.some((value) => same(within(value), wanted))) {
      tally.quirk("the figure is clipped to the lowest or highest of its definition");
      return [];
    }
    return [`${d.id} ${wanted}, came ${came.join(" ")}`];
  });
}

withData.each(["21", "22"])("own parameters read the replies to service %s", (service) => {
  const tally = new Tally();
  for (const row of all.filter(({ ask }) => ask.startsWith(service))) {
    const problems = ownProblems(row, tally);
    if (problems.length === 0) tally.right += 1;
    else tally.wrong.push(`${row.to.join(" ")} ${row.ask} ${row.lines.join(" / ")}: ${problems.join("; ")}`);
  }
  tally.print(`service ${service}`);
  process.stdout.write(`${tally.wrong.slice(0, 12).join("\n")}\n`);
  expect(tally.right / (tally.right + tally.wrong.length)).toBeGreaterThanOrEqual(0.99);
});
