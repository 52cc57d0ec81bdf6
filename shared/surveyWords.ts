/** What a survey says of one module, in words: the same on a terminal and on the page. */
import { codeMeaning } from "./codeMeanings.ts";
import type { CodeDetail } from "./identified.ts";
import { hex } from "./surveyBytes.ts";
import type { MonitorStatus } from "./enumerations.ts";
import type { ModuleSurvey, TestResult } from "./survey.ts";
import { vinCheckWords } from "./vin.ts";

export interface SurveyRow {
  readonly name: string;
  readonly lines: readonly string[];
}

/** In the order of worth to somebody who looks for a fault; what was not answered is left out, but for the codes. */
export function surveyRows(m: ModuleSurvey): SurveyRow[] {
  const frame = m.freezeFrame;
  const rows: SurveyRow[] = [
    { name: "stored codes", lines: codes(m.stored, m.details) },
    { name: "pending codes", lines: codes(m.pending, m.details) },
    { name: "permanent codes", lines: codes(m.permanent, m.details) },
    { name: "readiness since clear", lines: m.readiness === null ? [] : readiness(m.readiness) },
    {
      name: "readiness this drive cycle",
      lines: m.readinessThisCycle === null ? [] : readiness(m.readinessThisCycle),
    },
    {
      name: "freeze frame",
      lines:
        frame === null || frame.code === null
          ? []
          : [
              `stored by ${frame.code} (${codeMeaning(frame.code).meaning})`,
              ...frame.values.map((v) => `${v.name} ${v.words}`),
            ],
    },
    { name: "kept with code", lines: (m.extended ?? []).map((e) => `${e.code}: ${e.bytes}`) },
    {
      name: "readiness groups",
      lines: (m.groups ?? []).map((g) => `${hex(g.group)}: ${g.open} of ${g.codes} not complete`),
    },
    { name: "VIN", lines: m.vin === null ? [] : [`${m.vin.text}, ${vinCheckWords[m.vin.checkDigit]}`] },
    { name: "calibrations", lines: m.calibrations ?? [] },
    { name: "CVN", lines: m.verifications ?? [] },
    { name: "in-use counters", lines: (m.counters ?? []).map((c) => `${c.name} ${c.count}`) },
    { name: "test", lines: m.tests.map(testText) },
    { name: "came in part", lines: (m.incomplete ?? []).map(({ of, why }) => `${of}: ${why}`) },
    { name: "refused", lines: m.refused.length === 0 ? [] : [m.refused.join(", ")] },
  ];
  return rows.filter(({ lines }) => lines.length > 0);
}

function codes(list: readonly string[] | null, details: readonly CodeDetail[] = []): string[] {
  if (list === null) return ["not answered"];
  if (list.length === 0) return ["none"];
  return list.flatMap((code) => {
    const mine = details.filter((d) => d.code === code);
    const meaning = codeMeaning(code).meaning;
    if (mine.length === 0) return [`${code} ${meaning}`];
    return mine.map(
      (d) =>
        `${code}-${hex(d.failureType)} ${meaning}: ${d.failure}${d.states.length === 0 ? "" : `; ${d.states.join(", ")}`}`,
    );
  });
}

function readiness(status: MonitorStatus): string[] {
  const those = (state: string): string =>
    status.monitors
      .filter((m) => m.state === state)
      .map((m) => m.name)
      .join(", ") || "none";
  return [
    `MIL ${status.lamp ? "on" : "off"}, ${status.storedCodes} stored`,
    `not complete: ${those("not complete")}`,
    `complete: ${those("complete")}`,
  ];
}

function testText(test: TestResult): string {
  const unit = test.unit === "" ? "" : ` ${test.unit}`;
  const limits = [
    test.low === null ? "" : `from ${test.low}`,
    test.high === null ? "" : `to ${test.high}`,
  ].filter((t) => t !== "");
  const outcome = !test.run
    ? "never run"
    : test.passed === null
      ? "no limits"
      : test.passed
        ? "within"
        : "outside";
  return `${test.monitor}, ${test.test}: ${test.value}${unit}${limits.length === 0 ? "" : ` (${limits.join(" ")})`}, ${outcome}`;
}

/** Kept surveys may have been written down in an earlier version's words. */
export const isReadiness = (name: string): boolean =>
  name === "readiness since clear" || name === "since clear";
export const mil = /^(?:MIL|lamp) /;
export const milOn = /^(?:MIL|lamp) on\b/;
