import type { Findings, Sign } from "../report/schema.ts";
import { signRow } from "../tables/signs.ts";
import type { States } from "../tables/signs/row.ts";
import { codesSay } from "./tables/codesSay.ts";
import { complaints, type Complaint } from "./types.ts";

/** The complaints that a sign outside its range states, by when it states them. */
function statedBy(sign: Sign, when: States["when"]): Complaint[] {
  return (signRow(sign.id)?.states ?? []).flatMap((states) => {
    if (states.when !== when) return [];
    const { complaint } = states;
    const said = typeof complaint === "object" ? complaint[sign.side ?? "neither"] : complaint;
    return said === undefined ? [] : [said];
  });
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
  for (const complaint of outside.flatMap((s) => statedBy(s, "always"))) found.add(complaint);
  if (starts(findings)) {
    for (const complaint of outside.flatMap((s) => statedBy(s, "it-starts"))) found.add(complaint);
  }
  // A cylinder that does not burn gives its oxygen to the sensor: what the codes call lean is the misfire (common practice).
  const misfires = code(/^P03(?:0\d|1[0-2])$/) || outside.some((s) => s.family === "misfire");
  if (code(/^P017[14]$/) && !misfires) found.add("lean");
  if (code(/^P017[25]$/)) found.add("rich");
  if (!found.has("lean") && !found.has("rich")) {
    for (const complaint of outside.flatMap((s) => statedBy(s, "no-mixture"))) found.add(complaint);
  }
  if (found.size === 0) {
    for (const complaint of outside.flatMap((s) => statedBy(s, "nothing-else"))) found.add(complaint);
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
