import type { MonitorStatus } from "../../shared/enumerations.ts";
import type { ModuleSurvey, Survey, TestResult } from "../../shared/survey.ts";

/** What the modules say, for a terminal of 100 columns. */
export function surveyText(survey: Survey): string {
  const lines = [
    survey.volts === null
      ? "volts at the socket: not measured"
      : `volts at the socket: ${survey.volts.toFixed(1)} V`,
  ];
  if (survey.modules.length === 0) lines.push("no module answered");
  for (const module of survey.modules) lines.push("", ...moduleText(module));
  return `${lines.join("\n")}\n`;
}

function moduleText(m: ModuleSurvey): string[] {
  const lines = [`module ${m.module}${m.name === null ? "" : `, ${m.name}`}`];
  const row = (name: string, text: string): void => {
    lines.push(...wrapped(name, text));
  };
  if (m.vin !== null) row("VIN", `${m.vin.text}, check digit ${m.vin.checkDigit}`);
  row("stored codes", codes(m.stored));
  row("pending codes", codes(m.pending));
  row("permanent codes", codes(m.permanent));
  if (m.readiness !== null) row("since clear", readiness(m.readiness));
  if (m.readinessThisCycle !== null) row("this cycle", readiness(m.readinessThisCycle));
  if (m.freezeFrame !== null && m.freezeFrame.code !== null) {
    row(
      "freeze frame",
      [`stored by ${m.freezeFrame.code}`, ...m.freezeFrame.values.map((v) => `${v.name} ${v.words}`)].join(
        "; ",
      ),
    );
  }
  if (m.calibrations !== null) row("calibrations", m.calibrations.join(", "));
  if (m.verifications !== null) row("verification", m.verifications.join(", "));
  if (m.counters !== null) row("in-use counters", m.counters.map((c) => `${c.name} ${c.count}`).join("; "));
  for (const test of m.tests) row("test", testText(test));
  if (m.refused.length > 0) row("refused", m.refused.join(", "));
  return lines;
}

function codes(list: readonly string[] | null): string {
  if (list === null) return "not answered";
  return list.length === 0 ? "none" : list.join(", ");
}

function readiness(status: MonitorStatus): string {
  const open = status.monitors.filter((m) => m.state === "not complete").map((m) => m.name);
  const complete = status.monitors.filter((m) => m.state === "complete").map((m) => m.name);
  return [
    `lamp ${status.lamp ? "on" : "off"}`,
    `${status.storedCodes} stored`,
    `complete: ${complete.join(", ") || "none"}`,
    `not complete: ${open.join(", ") || "none"}`,
  ].join("; ");
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

const nameColumn = 18;
const width = 100;

function wrapped(name: string, text: string): string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(" ")) {
    if (line !== "" && nameColumn + line.length + word.length + 1 > width) {
      lines.push(line);
      line = word;
    } else line = line === "" ? word : `${line} ${word}`;
  }
  lines.push(line);
  return lines.map((l, i) => `  ${(i === 0 ? name : "").padEnd(nameColumn - 2)}${l}`);
}
