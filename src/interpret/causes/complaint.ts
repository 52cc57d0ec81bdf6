import type { Findings, Sign } from "../report/schema.ts";
import type { SignId } from "../tables/signs.ts";
import { codesSay } from "./tables/codesSay.ts";
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
 * What makes an engine that does start start hardly. It goes under "does not start": the same parts are behind both,
 * and few vehicles go from one to the other in a day (common practice).
 */
const hard: Readonly<Partial<Record<SignId, Complaint | Sided>>> = {
  "crank.speed": { low: "no-start" },
  "crank.drag": "no-start",
  "power.collapse": "no-start",
  "crank.time-to-fire": "no-start",
};

/**
 * What is left where nothing else is complained of: what it comes to when it is left alone. A battery that is low at
 * rest will not start the engine; a sensor that reads cold makes it burn more, one that reads hot less; of two
 * banks that differ the lean one is the usual trouble (all common practice).
 */
const comesTo: Readonly<Partial<Record<SignId, Complaint | Sided>>> = {
  "power.charging": { low: "not-charging", high: "overcharges" },
  "power.rest-voltage": { low: "no-start" },
  "sensor.coolant-intake": { low: "rich", high: "lean" },
  "sensor.coolant-warm": { low: "rich", high: "lean" },
  "mixture.banks": "lean",
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
const hardOf = new Map(Object.entries(hard));
const leftOver = new Map(Object.entries(lacking));
const inTheEnd = new Map(Object.entries(comesTo));

function statedBy(sign: Sign, by: ReadonlyMap<string, Complaint | Sided>): Complaint[] {
  const states = by.get(sign.id);
  const complaint = typeof states === "object" ? states[sign.side ?? "neither"] : states;
  return complaint === undefined ? [] : [complaint];
}

/** Every attempt in this recording ended with a running engine, and there was one. */
export function starts({ cranks }: Findings): boolean {
  const ended = cranks.filter((c) => c.outcome !== "open");
  return ended.length > 0 && ended.every((c) => c.outcome === "started");
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
  if (starts(findings)) {
    for (const complaint of outside.flatMap((s) => statedBy(s, hardOf))) found.add(complaint);
  }
  if (code(/^P017[14]$/)) found.add("lean");
  if (code(/^P017[25]$/)) found.add("rich");
  if (!found.has("lean") && !found.has("rich")) {
    for (const complaint of outside.flatMap((s) => statedBy(s, leftOver))) found.add(complaint);
  }
  if (found.size === 0) {
    for (const complaint of outside.flatMap((s) => statedBy(s, inTheEnd))) found.add(complaint);
  }
  // A stored code states what it is about, also where the engine runs as if nothing were.
  if (found.size === 0) {
    const stored = new Set(findings.codes.map((c) => c.code));
    for (const row of codesSay) if (stored.has(row.code)) found.add(row.about);
  }
  return complaints.filter((c) => found.has(c));
}

/** A complaint from a person's own words, where they plainly say one. */
export function complaintsInWords(text: string): Complaint[] {
  const says = (pattern: RegExp): boolean => pattern.test(text);
  const found: Complaint[] = [];
  const dies = says(/\b(?:dies|stalls?|goes out|cuts out|stops again)\b/i);
  const slowly = says(/\bcranks? (?:too )?slow|\bslow(?:ly)? crank|\bturns (?:over )?slow/i);
  const hot = says(
    /\bhard(?:ly)? (?:to )?starts?\b.*\b(?:hot|warm)\b|\b(?:hot|warm)\b.*\b(?:won'?t|hard(?:ly)?|not|badly)\b.*\bstart/i,
  );
  if (slowly) found.push("cranks-slowly");
  if (hot) found.push("hard-hot-start");
  if (
    !dies &&
    !hot &&
    (says(/(?:won'?t|does ?n[o']t|not|no|never)[\s-]*(?:start|crank|turn over|fire)|\bno[- ]start/i) ||
      says(/\bhard(?:ly)? (?:to )?starts?\b|\bstarts? (?:hard|badly|hardly)\b/i))
  ) {
    found.push("no-start");
  }
  if (dies) found.push("starts-and-dies");
  if (says(/\b(?:rough|misfir\w*|shak\w*|stumbl\w*|jerk\w*|uneven|vibrat\w*)\b/i)) found.push("rough");
  if (says(/\blean\b|\bP017[14]\b/i)) found.push("lean");
  if (says(/\brich\b|black smoke|\bP017[25]\b/i)) found.push("rich");
  if (
    says(
      /(?:won'?t|does ?n[o']t|not|no longer) (?:be(?:ing)? )?charg\w*|\b(?:battery|charging) (?:lamp|light)\b/i,
    )
  ) {
    found.push("not-charging");
  }
  if (
    says(
      /\b(?:no|lacks?|little|low on|loss of|hardly any|lost) (?:of )?(?:its )?power\b|\bno pull\b|\bpulls? (?:badly|hardly)|\blimp\b/i,
    )
  )
    found.push("no-power");
  if (says(/\b(?:surg\w*|hunts?|hunting)\b/i)) found.push("surges");
  if (says(/\bovercharg\w*|battery (?:boils|smells)|lamps? too bright/i)) found.push("overcharges");
  if (says(/\b(?:no|not a|none of the) modules? answers?\b|\b(?:no|not) (?:communication|answer)\b/i))
    found.push("no-answer");
  // A lamp is complained of by itself where nothing else is.
  if (
    found.length === 0 &&
    says(/\b(?:check[ -]?engine|engine|warning|malfunction)[ -]?(?:lamp|light)\b|\bMIL\b/i)
  )
    found.push("lamp-on");
  return complaints.filter((c) => found.includes(c));
}
