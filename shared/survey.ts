/**
 * What the modules say when each is asked once: codes, readiness, freeze frame, identity, counters, test results.
 * A fold over answers, so that a survey that was recorded reads the same as one that was just made. Layouts: SAE
 * J1979 / ISO 15031-5, from memory where the parameter table and codes.ts do not name a source.
 */
import { codeMeaning, type CodeMeaning } from "./codeMeanings.ts";
import { troubleCode, troubleCodes } from "./codes.ts";
import { longAnswer, type BrokenAnswer } from "./longAnswers.ts";
import { channelInfo, decodeParameter, inWords } from "./decode.ts";
import { monitorStatus, type MonitorStatus } from "./enumerations.ts";
import { detailAt, identifiedCodes, type CodeDetail } from "./identified.ts";
import {
  compressionCounters,
  monitorName,
  oxygenTestName,
  oxygenTestScales,
  sparkCounters,
  testName,
  testScale,
} from "./monitorTests.ts";
import { parameterByPid } from "./parameters.ts";
import { characters, hex, number, pieces, rounded } from "./surveyBytes.ts";
import { vinCheck } from "./vin.ts";

/** One whole answer of a module: service byte first; numbered parts already joined. */
export interface SurveyAnswer {
  readonly module: string;
  readonly data: Uint8Array;
}

export interface FrozenValue {
  readonly channel: string;
  readonly name: string;
  readonly value: number;
  readonly unit: string;
  /** With its unit, or the word of an enumeration. */
  readonly words: string;
}

export interface FreezeFrame {
  /** The code that stored it; null: there is no frame. */
  readonly code: string | null;
  readonly values: readonly FrozenValue[];
}

export interface TestResult {
  readonly monitor: string;
  readonly test: string;
  /** Numbers as sent, for whoever knows the maker's list. */
  readonly ids: { readonly monitor: number; readonly test: number };
  readonly value: number;
  readonly low: number | null;
  readonly high: number | null;
  /** Empty: a bare number; "raw": the scaling is not known to us. */
  readonly unit: string;
  /** null: no limits, or never run since codes were cleared. */
  readonly passed: boolean | null;
  readonly run: boolean;
}

export interface ModuleSurvey {
  readonly module: string;
  /** Codes; null: not answered. */
  readonly stored: readonly string[] | null;
  readonly pending: readonly string[] | null;
  readonly permanent: readonly string[] | null;
  readonly readiness: MonitorStatus | null;
  readonly readinessThisCycle: MonitorStatus | null;
  readonly freezeFrame: FreezeFrame | null;
  readonly vin: { readonly text: string; readonly checkDigit: "fits" | "differs" | "malformed" } | null;
  readonly calibrations: readonly string[] | null;
  /** Eight hexadecimal digits each. */
  readonly verifications: readonly string[] | null;
  readonly name: string | null;
  readonly counters: readonly { readonly name: string; readonly count: number }[] | null;
  readonly tests: readonly TestResult[];
  /** Codes of three bytes with failure type and status (SAE J1979-2); absent elsewhere. */
  readonly details?: readonly CodeDetail[];
  /** What is kept with a code beside its freeze frame, as it was sent: hexadecimal. */
  readonly extended?: readonly { readonly code: string; readonly bytes: string }[];
  /** By group (SAE J1979-2): how many of its codes are not tested since clearing. */
  readonly groups?: readonly { readonly group: number; readonly codes: number; readonly open: number }[];
  /** What came only in part, and so is not told: "VIN", why. Absent where nothing did. */
  readonly incomplete?: readonly { readonly of: string; readonly why: string }[];
  /** Requests it refused: service and reason, as numbers in hexadecimal. */
  readonly refused: readonly string[];
}

export interface Survey {
  /** At the socket, V; null: not measured. */
  readonly volts: number | null;
  readonly modules: readonly ModuleSurvey[];
  /** What each code that was told means, once, in the order of their names. */
  readonly meanings: readonly CodeMeaning[];
}

function meaningsOf(modules: readonly ModuleSurvey[]): CodeMeaning[] {
  const told = modules.flatMap((m) => [
    ...(m.stored ?? []),
    ...(m.pending ?? []),
    ...(m.permanent ?? []),
    ...(m.freezeFrame?.code === undefined || m.freezeFrame.code === null ? [] : [m.freezeFrame.code]),
  ]);
  return [...new Set(told)].sort().map(codeMeaning);
}

type Draft = { -readonly [K in keyof ModuleSurvey]: ModuleSurvey[K] };

function draft(module: string): Draft {
  return {
    module,
    stored: null,
    pending: null,
    permanent: null,
    readiness: null,
    readinessThisCycle: null,
    freezeFrame: null,
    vin: null,
    calibrations: null,
    verifications: null,
    name: null,
    counters: null,
    tests: [],
    refused: [],
  };
}

/** `can`: replies carry a count of codes, and service 06 has monitors with units. */
export function foldSurvey(
  answers: readonly SurveyAnswer[],
  can: boolean,
  volts: number | null,
  broken: readonly BrokenAnswer[] = [],
): Survey {
  const modules = new Map<string, Draft>();
  for (const { module, data } of answers) {
    const survey = modules.get(module) ?? draft(module);
    modules.set(module, survey);
    take(survey, data, can);
  }
  for (const one of broken) takeBroken(modules, one);
  const byAddress = [...modules.values()].sort((a, b) => (a.module < b.module ? -1 : 1));
  return { volts, modules: byAddress, meanings: meaningsOf(byAddress) };
}

/** What came only in part is said, unless it came whole at another time. */
function takeBroken(modules: Map<string, Draft>, { module, ask, why }: BrokenAnswer): void {
  const long = longAnswer(ask);
  const survey = modules.get(module) ?? draft(module);
  if (long === undefined || survey[long.field] !== null) return;
  modules.set(module, survey);
  const others = (survey.incomplete ?? []).filter(({ of }) => of !== long.of);
  survey.incomplete = [...others, { of: long.of, why }];
}

function take(survey: Draft, data: Uint8Array, can: boolean): void {
  const [service, id = 0] = data;
  const body = data.subarray(1);
  switch (service) {
    case 0x41:
      if (data.length < 6) return;
      if (id === 0x01) survey.readiness = monitorStatus(number(data, 2, 4));
      if (id === 0x41) survey.readinessThisCycle = monitorStatus(number(data, 2, 4));
      return;
    case 0x42:
      survey.freezeFrame = frozen(survey.freezeFrame, data);
      return;
    case 0x43:
      survey.stored = merged(survey.stored, troubleCodes(body, can));
      return;
    case 0x47:
      survey.pending = merged(survey.pending, troubleCodes(body, can));
      return;
    case 0x4a:
      survey.permanent = merged(survey.permanent, troubleCodes(body, can));
      return;
    case 0x45:
      survey.tests = withTests(survey.tests, oxygenTest(data));
      return;
    case 0x46:
      survey.tests = withTests(survey.tests, can ? monitorTests(data) : rawTest(data));
      return;
    case 0x49:
      identity(survey, id, data.subarray(3));
      return;
    case 0x59:
      takeIdentified(survey, data);
      return;
    case 0x62:
      if (id === 0xf4 && data[2] === 0x01 && data.length >= 7)
        survey.readiness = monitorStatus(number(data, 3, 4));
      if (id === 0xf8) identity(survey, data[2] ?? 0, data.subarray(3));
      return;
    case 0x7f:
      survey.refused = [...new Set([...survey.refused, `${hex(id)}: ${hex(data[2] ?? 0)}`])];
      return;
    default:
      return;
  }
}

/** Service 19. */
function takeIdentified(survey: Draft, data: Uint8Array): void {
  const told = identifiedCodes(data);
  if (told !== null) {
    if (told.permanent !== null) survey.permanent = merged(survey.permanent, told.permanent);
    else {
      survey.stored = merged(survey.stored, told.stored);
      survey.pending = merged(survey.pending, told.pending);
    }
    const key = (d: CodeDetail): string => `${d.code} ${d.failureType}`;
    const known = new Map([...(survey.details ?? []), ...told.details].map((d) => [key(d), d]));
    survey.details = [...known.values()];
    return;
  }
  const kept = detailAt(data, 2);
  if (data[1] === 0x04 && kept !== null) survey.freezeFrame = identifiedFrame(survey.freezeFrame, data, kept);
  if (data[1] === 0x06 && kept !== null) {
    const bytes = [...data.subarray(6)].map(hex).join(" ");
    survey.extended = [...(survey.extended ?? []), { code: kept.code, bytes }];
  }
  if (data[1] === 0x56 && data.length >= 6) {
    // 59 56, functional group, readiness group, status bits supported, format, then code and status.
    const details: CodeDetail[] = [];
    for (let at = 6; at + 4 <= data.length; at += 4) {
      const detail = detailAt(data, at);
      if (detail !== null) details.push(detail);
    }
    const open = details.filter(({ status }) => (status & 0x10) !== 0).length;
    const group = { group: data[3] ?? 0, codes: details.length, open };
    survey.groups = [...(survey.groups ?? []).filter((g) => g.group !== group.group), group];
  }
}

/** 59 04, code, status, then for each record its number, how many identifiers, and each with its data. The first counts. */
function identifiedFrame(before: FreezeFrame | null, data: Uint8Array, { code }: CodeDetail): FreezeFrame {
  if (before !== null && before.code !== null) return before;
  if (data.length < 8) return { code: null, values: [] };
  let frame: FreezeFrame = { code, values: [] };
  let at = 8;
  for (let left = data[7] ?? 0; left > 0; left--) {
    const pid = data[at + 1] ?? 0;
    const bytes = parameterByPid.get(pid)?.bytes;
    if (data[at] !== 0xf4 || bytes === undefined || at + 2 + bytes > data.length) break;
    // As service 02 says it: 42, parameter, frame number, data.
    frame = frozen(frame, Uint8Array.from([0x42, pid, 0, ...data.subarray(at + 2, at + 2 + bytes)]));
    at += 2 + bytes;
  }
  return frame;
}

/** Outside CAN three codes come in each message, so later messages add to earlier ones. */
function merged(before: readonly string[] | null, more: readonly string[]): readonly string[] {
  return [...new Set([...(before ?? []), ...more])];
}

function frozen(before: FreezeFrame | null, data: Uint8Array): FreezeFrame {
  const [, pid = 0] = data;
  const frame: FreezeFrame = before ?? { code: null, values: [] };
  // 42, parameter, frame number, data.
  const body = data.subarray(3);
  if (pid === 0x02) {
    const raw = number(body, 0, 2);
    return { ...frame, code: body.length < 2 || raw === 0 ? null : troubleCode(raw) };
  }
  const row = parameterByPid.get(pid);
  if (row === undefined || pid % 0x20 === 0) return frame;
  const values = decodeParameter(row, body).map(({ value, number: n }): FrozenValue => {
    const info = channelInfo(value.channel) ?? value;
    return {
      channel: value.channel,
      name: value.name,
      value: n,
      unit: value.unit,
      words: inWords(info, n, "metric"),
    };
  });
  const fresh = new Set(values.map((v) => v.channel));
  return { ...frame, values: [...frame.values.filter((v) => !fresh.has(v.channel)), ...values] };
}

/** A later answer takes the place of an earlier one. Services 05 and 06 use the same numbers for different things. */
function withTests(before: readonly TestResult[], more: readonly TestResult[]): readonly TestResult[] {
  const same = (a: TestResult, b: TestResult): boolean =>
    a.monitor === b.monitor && a.ids.monitor === b.ids.monitor && a.ids.test === b.ids.test;
  return [...before.filter((old) => !more.some((fresh) => same(old, fresh))), ...more];
}

/** 46, then for each test: monitor, test, unit and scaling, value, lowest, highest. */
function monitorTests(data: Uint8Array): TestResult[] {
  const results: TestResult[] = [];
  if ((data[1] ?? 0) % 0x20 === 0) return results; // a support map
  for (let at = 1; at + 9 <= data.length; at += 9) {
    const monitor = data[at] ?? 0;
    const test = data[at + 1] ?? 0;
    const scale = testScale(data[at + 2] ?? 0);
    const scaled = (from: number): number => {
      const raw = number(data, from, 2);
      if (scale === null) return raw;
      return rounded((scale.signed && raw >= 0x8000 ? raw - 0x10000 : raw) * scale.factor + scale.offset);
    };
    const [value, low, high] = [scaled(at + 3), scaled(at + 5), scaled(at + 7)];
    const raws = [number(data, at + 3, 2), number(data, at + 5, 2), number(data, at + 7, 2)];
    const run = raws.some((raw) => raw !== 0);
    const limits = raws[1] !== 0 || raws[2] !== 0;
    results.push({
      monitor: monitorName(monitor),
      test: testName(monitor, test),
      ids: { monitor, test },
      value,
      low: limits ? low : null,
      high: limits ? high : null,
      unit: scale === null ? "raw" : scale.unit,
      passed: run && limits ? value >= low && value <= high : null,
      run,
    });
  }
  return results;
}

/** Outside CAN the scaling is the maker's: 46, test, component, value, one limit; top bit of the component: a lowest value. */
function rawTest(data: Uint8Array): TestResult[] {
  const [, test = 0, component = 0] = data;
  if (data.length < 7 || test % 0x20 === 0) return [];
  const value = number(data, 3, 2);
  const limit = number(data, 5, 2);
  const lowest = (component & 0x80) !== 0;
  return [
    {
      monitor: `component ${hex(component & 0x7f)}`,
      test: `test ${hex(test)}`,
      ids: { monitor: component, test },
      value,
      low: lowest ? limit : null,
      high: lowest ? null : limit,
      unit: "raw",
      passed: lowest ? value >= limit : value <= limit,
      run: true,
    },
  ];
}

/** 45, test, sensor, value, then lowest and highest where the test has limits. */
function oxygenTest(data: Uint8Array): TestResult[] {
  const [, test = 0, sensor = 0, raw, rawLow, rawHigh] = data;
  if (raw === undefined || test % 0x20 === 0) return [];
  const scale = oxygenTestScales[test];
  const scaled = (n: number): number => (scale === undefined ? n : rounded(n * scale.factor));
  const low = rawLow === undefined ? null : scaled(rawLow);
  const high = rawHigh === undefined ? null : scaled(rawHigh);
  const value = scaled(raw);
  const bit = Math.round(Math.log2(sensor));
  return [
    {
      monitor:
        sensor === 0 ? "oxygen sensor" : `oxygen sensor bank ${(bit >> 2) + 1} sensor ${(bit & 3) + 1}`,
      test: oxygenTestName(test),
      ids: { monitor: sensor, test },
      value,
      low,
      high,
      unit: scale?.unit ?? "raw",
      passed: low === null || high === null ? null : value >= low && value <= high,
      run: true,
    },
  ];
}

/** `items`: what follows 49, type and number of items. */
function identity(survey: Draft, type: number, items: Uint8Array): void {
  switch (type) {
    case 0x02: {
      const text = characters(items);
      if (text !== "") survey.vin = { text, checkDigit: vinCheck(text) };
      return;
    }
    case 0x04:
      survey.calibrations = pieces(items, 16).map(characters);
      return;
    case 0x06:
      survey.verifications = pieces(items, 4).map((piece) => [...piece].map(hex).join(""));
      return;
    case 0x08:
    case 0x0b: {
      const names: readonly string[] = type === 0x08 ? sparkCounters : compressionCounters;
      survey.counters = pieces(items, 2).map((piece, i) => ({
        name: names[i] ?? `counter ${i + 1}`,
        count: number(piece, 0, 2),
      }));
      return;
    }
    case 0x0a:
      survey.name = characters(items);
      return;
    default:
      return;
  }
}
