/** Advice as text for a terminal: at most 100 columns. */
import { wrap } from "../report/text.ts";
import type { Advice, CauseAdvice, CheckAdvice, Next, Standing } from "./adviceSchema.ts";
import { complaintWords } from "./types.ts";

/** "does not start, runs rough or misfires". */
export function complaintText(advice: Pick<Advice, "complaints">): string {
  return advice.complaints.map((c) => complaintWords[c]).join(", ");
}

/** Shares are told in twentieths at the finest: the tables are not worth more. */
export function standingText({ share, low, high, word }: Standing): string {
  if (high < 0.05) return `${word} (under 5 %)`;
  const about =
    share < 0.05 ? "under 5 %" : share > 0.95 ? "over 95 %" : `about ${(share * 100).toFixed(0)} %`;
  const from = (low * 100).toFixed(0);
  const to = (high * 100).toFixed(0);
  return low === high
    ? `${word} (${about})`
    : `${word} (${about}; if our estimates are off by two: ${from} to ${to} %)`;
}

/** Without how far it would move: "likely, about 75 %". */
export function standingShort({ share, high, word }: Pick<Standing, "share" | "high" | "word">): string {
  if (high < 0.05 || share < 0.05) return "under 5 %";
  return `${word}, ${share > 0.95 ? "over 95 %" : `about ${(share * 100).toFixed(0)} %`}`;
}

/** What is next, in one line. */
export function nextTitle(next: Next): string {
  switch (next.kind) {
    case "check":
      return next.check.name;
    case "repair":
      return next.repair.does;
    case "prove":
      return "prove it";
    case "done":
      return "nothing more to find";
    case "give-up":
      return "stop here";
    case "ask":
      return "tell what it does";
  }
}

export function adviceText(advice: Advice): string {
  const lines: string[] = [];
  const put = (text: string, indent = 0, hanging = indent): void => {
    lines.push(...wrap(text, indent, hanging));
  };
  put(`Complaint: ${complaintText(advice)}`);
  if (advice.cylinders.length > 0) put(`Cylinder named by signs: ${advice.cylinders.join(", ")}`);
  for (const words of advice.overridden) put(words);
  if (advice.next.kind === "ask") {
    lines.length = 0;
    put(`Next: ${nextTitle(advice.next)}`);
    put(advice.next.why, 2);
    return `${lines.join("\n")}\n`;
  }
  lines.push("", "Likely causes");
  advice.causes.forEach((cause, i) => causeLines(cause, i + 1, put));
  put(`None of these: ${standingText(advice.none)}`, 2);
  if (advice.unlisted > 0) put(`${advice.unlisted} more causes are in the tables, each unlikely.`, 2);
  if (advice.together !== null) put(advice.together.words, 2);
  put(advice.steady.words, 2);
  if (advice.own !== undefined) put(advice.own.words, 2);
  lines.push("");
  nextLines(advice, put);
  if (advice.others.length > 0) {
    const names = advice.others.map((o) => `${o.name} (${o.minutes} min)`).join("; ");
    put(`Also worth doing: ${names}`, 2, 4);
  }
  const tools = advice.skipped.filter((s) => s.why.startsWith("needs "));
  if (tools.length > 0) {
    put(`Left out for want of a tool: ${tools.map((s) => `${s.name} (${s.why})`).join("; ")}`, 2, 4);
  }
  for (const question of advice.questions) put(`In question: ${question.words}`, 2, 4);
  return `${lines.join("\n")}\n`;
}

type Put = (text: string, indent?: number, hanging?: number) => void;

/** So many causes are told in full; of the rest only what was seen. */
const inFull = 3;

function causeLines(cause: CauseAdvice, number: number, put: Put): void {
  const full = number <= inFull || cause.proof.state === "shown" || cause.proof.state === "proved";
  put(`${number}. ${cause.name}: ${standingText(cause.standing)}; ${cause.proof.state}`, 2, 5);
  if (full) put(`${cause.about} Place: ${cause.place}.`, 5);
  for (const one of cause.for) put(`for: ${one.words}`, 5, 7);
  for (const one of cause.against) put(`against: ${one.words}`, 5, 7);
  if (cause.own !== undefined) put(`own: ${cause.own}`, 5, 7);
  if (!full) return;
  put(cause.proof.words, 5);
  if (cause.proof.wouldProve !== "") put(`To prove it: ${cause.proof.wouldProve}`, 5, 7);
}

function nextLines(advice: Advice, put: Put): void {
  const { next } = advice;
  put(`Next: ${nextTitle(next)}`);
  switch (next.kind) {
    case "check":
      put(`${next.why} Costs ${next.costs}. Separates ${next.separates}.`, 2);
      checkLines(next.check, advice.cautionFirst, put);
      return;
    case "repair":
      put(next.why, 2);
      put(`Costs ${next.costs}.`, 2);
      return;
    case "prove":
    case "done":
    case "give-up":
    case "ask":
      put(next.why, 2);
  }
}

function checkLines(check: CheckAdvice, first: string, put: Put): void {
  for (const caution of check.cautions) put(`Caution: ${caution.text}`, 2, 4);
  if (check.cautions.length > 0) put(first, 2, 4);
  check.steps.forEach((step, i) => {
    put(`${i + 1}. ${step}`, 2, 5);
  });
  if (check.tools.length > 0) put(`Tools: ${check.tools.join(", ")}`, 2, 4);
  if (check.reading !== null) {
    const { what, units, beside } = check.reading;
    const two = beside === undefined ? "" : `; from two figures: ${beside.shown}; ${beside.what}`;
    put(`Reading: ${what}, in ${units.join(", ")}${two}`, 2, 4);
  }
  for (const o of check.outcomes) put(`- ${o.text} (${o.expect}): ${o.means}. ${o.then}.`, 2, 4);
}
