import type { Findings, Sign } from "../schema.ts";
import type { SignId } from "../tables/signs.ts";
import { complaints, type Complaint } from "./types.ts";

type Sided = Readonly<Partial<Record<"low" | "high" | "neither", Complaint>>>;

/** The complaint that a sign outside its range states. */
const stated: Readonly<Partial<Record<SignId, Complaint | Sided>>> = {
  "crank.stall": "starts-and-dies",
  "misfire.rough": "rough",
  "misfire.counts": "rough",
  "misfire.cylinder": "rough",
  "misfire.codes": "rough",
  "mixture.hunting": "rough",
  "mixture.lean": "lean",
  "mixture.delivery": "lean",
  "mixture.rich": "rich",
  "mixture.unmetered-air": { low: "rich", high: "lean" },
  "mixture.metering": { low: "rich", high: "lean" },
  "mixture.lambda": { low: "rich", high: "lean" },
  "sensor.oxygen": { low: "lean", high: "rich" },
};

/**
 * What is left where nothing else speaks of the mixture. A module without a sensor that answers fuels by its table,
 * and that errs on the rich side: higher consumption is what brings such a vehicle in (common practice).
 */
const lacking: Readonly<Partial<Record<SignId, Complaint | Sided>>> = {
  "mixture.loop": "rich",
  "sensor.oxygen": { neither: "rich" },
};

const complaintOf = new Map(Object.entries(stated));
const leftOver = new Map(Object.entries(lacking));

function statedBy(sign: Sign, by: ReadonlyMap<string, Complaint | Sided>): Complaint[] {
  const states = by.get(sign.id);
  const complaint = typeof states === "object" ? states[sign.side ?? "neither"] : states;
  return complaint === undefined ? [] : [complaint];
}

/** What a recording itself complains of, worst first; empty when it shows nothing of the kind. */
export function complaintsOf(findings: Findings): Complaint[] {
  const ends = findings.cranks.map((c) => c.outcome);
  const started = ends.includes("started");
  const found = new Set<Complaint>();
  if (ends.includes("fired-and-died") && !started) found.add("starts-and-dies");
  else if (ends.length > 0 && !started && ends.some((e) => e !== "open")) found.add("no-start");
  const code = (pattern: RegExp): boolean => findings.codes.some((c) => pattern.test(c.code));
  if (code(/^P03(?:0\d|1[0-2])$/)) found.add("rough");
  const outside = findings.signs.filter((s) => s.verdict === "outside");
  for (const complaint of outside.flatMap((s) => statedBy(s, complaintOf))) found.add(complaint);
  if (code(/^P017[14]$/)) found.add("lean");
  if (code(/^P017[25]$/)) found.add("rich");
  if (!found.has("lean") && !found.has("rich")) {
    for (const complaint of outside.flatMap((s) => statedBy(s, leftOver))) found.add(complaint);
  }
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
