import type { ModuleSurvey, Survey } from "../../shared/survey.ts";
import { surveyRows } from "../../shared/surveyWords.ts";

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
  for (const { name, lines: texts } of surveyRows(m)) {
    // Values of one moment, and counters, are many and short; a code or a test has a line of its own.
    const joined = together.has(name) ? [texts.join("; ")] : texts;
    joined.forEach((text, i) => lines.push(...wrapped(i === 0 || name === "test" ? name : "", text)));
  }
  return lines;
}

const together: ReadonlySet<string> = new Set([
  "readiness since clear",
  "readiness this drive cycle",
  "freeze frame",
  "calibrations",
  "CVN",
  "in-use counters",
]);

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
