import type { Findings } from "../schema.ts";
import { complaints, type Complaint } from "./types.ts";

/** What a recording itself complains of, worst first; empty when it shows nothing of the kind. */
export function complaintsOf(findings: Findings): Complaint[] {
  const outside = new Set(findings.signs.filter((s) => s.verdict === "outside").map((s) => s.id));
  const ends = findings.cranks.map((c) => c.outcome);
  const started = ends.includes("started");
  const found = new Set<Complaint>();
  if (ends.includes("fired-and-died") && !started) found.add("starts-and-dies");
  else if (ends.length > 0 && !started && ends.some((e) => e !== "open")) found.add("no-start");
  if (outside.has("crank.stall")) found.add("starts-and-dies");
  if (["misfire.rough", "misfire.counts", "misfire.cylinder", "misfire.codes"].some((s) => outside.has(s))) {
    found.add("rough");
  }
  const code = (pattern: RegExp): boolean => findings.codes.some((c) => pattern.test(c.code));
  if (code(/^P03(?:0\d|1[0-2])$/)) found.add("rough");
  if (outside.has("mixture.lean") || code(/^P017[14]$/)) found.add("lean");
  if (outside.has("mixture.rich") || code(/^P017[25]$/)) found.add("rich");
  return complaints.filter((c) => found.has(c));
}

/** A complaint from a person's own words, where they plainly say one. */
export function complaintsInWords(text: string): Complaint[] {
  const says = (pattern: RegExp): boolean => pattern.test(text);
  const found: Complaint[] = [];
  const dies = says(/\b(?:dies|stalls?|goes out|cuts out|stops again)\b/i);
  if (
    !dies &&
    says(/(?:won'?t|does ?n[o']t|not|no|never)[\s-]*(?:start|crank|turn over|fire)|\bno[- ]start/i)
  ) {
    found.push("no-start");
  }
  if (dies) found.push("starts-and-dies");
  if (says(/\b(?:rough|misfir\w*|shak\w*|stumbl\w*|jerk\w*|uneven|vibrat\w*)\b/i)) found.push("rough");
  if (says(/\blean\b|\bP017[14]\b/i)) found.push("lean");
  if (says(/\brich\b|black smoke|\bP017[25]\b/i)) found.push("rich");
  return found;
}
