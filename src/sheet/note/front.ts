/** Page one: what the customer takes home, on one sheet that stands alone. */
import { effectWords } from "../../interpret/causes/evidence.ts";
import { causeRow } from "../../interpret/causes/rows.ts";
import { nextTitle } from "../../interpret/causes/adviceText.ts";
import { frontLongest, inOrder, type Clip } from "../job.ts";
import { saysOf } from "../snapshot.ts";
import { beforeAfterWords } from "../statement.ts";
import { smallTable } from "./before.ts";
import type { ChartBlock, Front, FrontPart } from "./blocks.ts";
import { brief } from "./brief.ts";
import { chartBlock } from "./chartBlock.ts";
import { dateText, type Composing } from "./composing.ts";
import { complaintsOfJob, driverCautions } from "./driver.ts";
import { factPairs } from "./facts.ts";
import {
  foundOf,
  isMended,
  latestAdvice,
  comparedVerdict,
  logOf,
  standingActs,
  type Found,
} from "./found.ts";

/** Of the vehicle's facts what tells it from another one; whose it is stands under the title. */
const frontFacts: ReadonlySet<string> = new Set(["Vehicle", "Plate", "VIN", "Year", "Odometer"]);
/** More than these have no room. */
const mostCautions = 3;
const mostLanes = 3;

/** `numberOf` tells which clip of the annex a clip is. */
export function frontOf(composing: Composing, numberOf: (clip: string) => number | null): Front {
  const { job, system } = composing;
  const own = job.front ?? {};
  const found = foundOf(job);
  const put = (title: string, mine: string | undefined, longest: number, else_: () => string): FrontPart => ({
    title,
    words: brief(mine?.trim() === "" || mine === undefined ? else_() : mine, longest),
  });
  const driver = [...(own.driver?.trim() ? [own.driver.trim()] : []), ...driverCautions(job)];
  return {
    facts: factPairs(job, system)
      .filter(([label]) => frontFacts.has(label))
      .map(([label, text]) => [label, brief(text, 90)] as const),
    complaint: put("Complaint", own.complaint, frontLongest.complaint, () => job.texts.complaint ?? ""),
    found: put("What was found", own.found, frontLongest.found, () => foundWords(composing, found)),
    picture: pictureOf(composing, { found, numberOf }),
    proved: put("How it was proved", own.proved, frontLongest.proved, () => proofText(composing, found)),
    done: put("What was done", own.done, frontLongest.done, () => doneText(composing)),
    compared: smallTable(composing),
    left: put("What is left", own.left, frontLongest.left, () => leftText(composing)),
    back: put("When to come back", own.back, frontLongest.back, () =>
      isMended(job)
        ? "If the fault comes back. Bring this note, and say what the weather and the road were like."
        : "As agreed, or as soon as the fault shows again. Bring this note.",
    ),
    driver: driver.slice(0, mostCautions).map((text) => brief(text, frontLongest.driver)),
  };
}

/** What was found and how it was proved, for who wrote no conclusion; empty where nothing is shown yet. */
export function conclusionOf(composing: Composing): string {
  const found = foundOf(composing.job);
  if (found === null || found.standing === "suspected") return "";
  return composing.mask(`${foundWords(composing, found)} ${proofText(composing, found)}`);
}

/** The conclusion's first sentences where the person wrote one. */
function foundWords({ job }: Composing, found: Found | null): string {
  const conclusion = job.texts.conclusion?.trim() ?? "";
  if (conclusion !== "") return brief(conclusion, frontLongest.found, 2);
  if (found === null) return "The cause is not found yet.";
  const said = [sentence(found.name), found.about].filter((text) => text !== "").join(" ");
  return found.standing === "suspected" ? `Most likely, and not proved: ${said}` : said;
}

const sentence = (text: string): string => (/[.!?]$/.test(text.trim()) ? text.trim() : `${text.trim()}.`);

const standingLead: Readonly<Record<Found["standing"], string>> = {
  suspected: "Not proved yet.",
  shown: "Shown, not proved.",
  proved: "Proved.",
};

function proofText({ job }: Composing, found: Found | null): string {
  const verdict = comparedVerdict(job);
  const after = verdict === null ? "" : `Measured before and after: ${beforeAfterWords[verdict]}.`;
  if (found === null) return ["Nothing is proved yet.", after].join(" ").trim();
  return [standingLead[found.standing], found.proof, after].filter((text) => text !== "").join(" ");
}

function doneText({ job }: Composing): string {
  const own = job.texts.done?.trim() ?? "";
  if (own !== "") return own;
  const acts = standingActs(logOf(job)).map((act) => {
    const does = causeRow(act.cause)?.repair.does ?? act.cause;
    return `${dateText(act.at).slice(0, 10)}: ${does}; ${effectWords[act.effect]}.`;
  });
  return acts.length === 0 ? "Nothing was changed yet." : acts.join(" ");
}

function leftText({ job }: Composing): string {
  const own = job.texts.open?.trim() ?? "";
  if (own !== "") return own;
  if (isMended(job)) return "Nothing that is known.";
  const advice = latestAdvice(job);
  if (advice === null) return "The fault itself: it is not shown to be gone.";
  return `The fault itself: it is not shown to be gone. Next: ${nextTitle(advice.next)}.`;
}

/** The clip the person chose; else the one that shows the best sign of what was found, else a crank, else the first. */
function pictureOf(
  composing: Composing,
  { found, numberOf }: { readonly found: Found | null; readonly numberOf: (clip: string) => number | null },
): ChartBlock | null {
  const { job } = composing;
  const clips = inOrder(job.clips);
  const chosen = job.front?.picture;
  if (chosen === "") return null;
  const clip =
    clips.find((c) => c.id === chosen) ??
    clips.map((c) => ({ c, worth: worthOf(c, composing, found) })).sort((a, b) => b.worth - a.worth)[0]?.c;
  if (clip === undefined) return null;
  const lanes = clip.lanes.slice(0, mostLanes);
  const block = chartBlock({ ...clip, lanes }, numberOf(clip.id) ?? 1, composing, "front");
  return { ...block, caption: brief(block.caption, 160), name: "page-one" };
}

function worthOf(clip: Clip, { job, sources }: Composing, found: Found | null): number {
  const fits = sources.evidence(clip.tie).state === "fits" ? 100 : 0;
  const entry = clip.of === undefined ? undefined : job.entries[clip.of];
  const starting = complaintsOfJob(job).has("no-start") || complaintsOfJob(job).has("starts-and-dies");
  const crank = starting ? 20 : 3;
  if (entry === undefined || entry.removed === true)
    return fits + (clip.section === "cranks" ? crank : clip.section === "compared" ? 1 : 0);
  const says = saysOf(entry.says);
  if (says?.kind === "crank") return fits + crank;
  if (says?.kind !== "sign") return fits + 1;
  const { sign } = says;
  const speaks = latestAdvice(job)
    ?.causes.find((c) => c.id === found?.cause)
    ?.for.some((e) => e.of === sign.key);
  // A code has no figure: where it was read there is nothing to be seen.
  if (sign.measured === null || sign.measured.value === null) return fits;
  return fits + 5 + (sign.verdict === "outside" ? 2 : 0) + (speaks === true ? 10 : 0);
}
