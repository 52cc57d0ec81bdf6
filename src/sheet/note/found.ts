/** What a job says was found, how far that is proved, and what was done about it: for who was not there. Pure. */
import { buildModel, type Model } from "../../interpret/causes/model.ts";
import { proofOf, stepsFor } from "../../interpret/causes/proof.ts";
import { foldLog, type Act, type Log } from "../../interpret/causes/results.ts";
import { causeRow } from "../../interpret/causes/rows.ts";
import type { BeforeAfterVerdict } from "../../interpret/causes/beforeAfterSchema.ts";
import type { Advice } from "../../interpret/causes/adviceSchema.ts";
import { inOrder, type Entry, type JobDocument } from "../job.ts";
import { saysOf, type Says } from "../snapshot.ts";
import { instantOf } from "./times.ts";

export interface Found {
  /** Id in the table; null for a cause in the person's own words. */
  readonly cause: string | null;
  readonly name: string;
  /** What is broken, in plain words; empty where only its name is known. */
  readonly about: string;
  readonly standing: "suspected" | "shown" | "proved";
  readonly proof: string;
}

const rank = { suspected: 1, shown: 2, proved: 3 } as const;

/** The cause that is proved best; of equals what the person wrote, then what the log shows, then what was advised. */
export function foundOf(job: JobDocument): Found | null {
  const log = logOf(job);
  const all = [...byHand(job), ...byLog(log, latestAdvice(job)), ...byAdvice(job, log)];
  return all.reduce<Found | null>(
    (best, one) => (best === null || rank[one.standing] > rank[best.standing] ? one : best),
    null,
  );
}

export function logOf(job: JobDocument): Log {
  return foldLog(
    inOrder(job.log).map((item) => item.entry),
    job.vehicle,
  );
}

function byHand(job: JobDocument): Found[] {
  return inOrder(job.causes).flatMap(({ cause, name, standing, proof }) =>
    standing === "excluded"
      ? []
      : [{ cause, name, about: causeRow(cause ?? "")?.about ?? "", standing, proof: proof.trim() }],
  );
}

let tables: Model | null = null;

/** Causes for which something was changed and the fault went away. Of several that one change lifts, the advice's first. */
function byLog(log: Log, advice: Advice | null): Found[] {
  if (log.acts.length === 0 && log.results.length === 0) return [];
  const model = (tables ??= buildModel());
  const shares = new Float64Array(model.causes.length + 1).fill(1 / model.causes.length);
  const ground = { model, log, evidence: [], shares };
  const place = new Map((advice?.causes ?? []).map((c, i) => [c.id, i]));
  return model.causes
    .flatMap((row, at): Found[] => {
      if (stepsFor(row, ground).length === 0) return [];
      const { state, words } = proofOf(at, ground);
      if (state === "cleared" || state === "suspected") return [];
      return [{ cause: row.id, name: row.name, about: row.about, standing: state, proof: words }];
    })
    .sort((a, b) => (place.get(a.cause ?? "") ?? 99) - (place.get(b.cause ?? "") ?? 99));
}

/** What was worked out last, as it was said then; proved or shown only where nothing was changed since. */
function byAdvice(job: JobDocument, log: Log): Found[] {
  const said = latestAdviceSaid(job);
  if (said === null) return [];
  const { advice, at } = said;
  const changed = log.acts.some((act) => !act.withdrawn && Date.parse(act.at) > Date.parse(at));
  return advice.causes.flatMap(({ id, name, about, proof }): Found[] => {
    if (proof.state === "cleared") return [];
    const standing = changed ? "suspected" : proof.state;
    return [{ cause: id, name, about, standing, proof: standing === proof.state ? proof.words : "" }];
  });
}

type Advised = Extract<Says, { kind: "advice" }>;

function latestAdviceSaid(job: JobDocument): Advised | null {
  return inOrder(job.entries).reduce<Advised | null>((last, entry) => {
    const says = saysOf(entry.says);
    if (says?.kind !== "advice") return last;
    return last === null || Date.parse(says.at) >= Date.parse(last.at) ? says : last;
  }, null);
}

export function latestAdvice(job: JobDocument): Advice | null {
  return latestAdviceSaid(job)?.advice ?? null;
}

/** The last comparison of before and after by the time of its later recording; null where there is none. */
export function latestCompared(job: JobDocument): Entry | null {
  const all = inOrder(job.entries).filter((e) => saysOf(e.says)?.kind === "before-after");
  return all.reduce<Entry | null>(
    (last, e) => (last === null || instantOf(job, e.tie) >= instantOf(job, last.tie) ? e : last),
    null,
  );
}

/** What the last comparison came to; null where there is none. */
export function comparedVerdict(job: JobDocument): BeforeAfterVerdict | null {
  const entry = latestCompared(job);
  const says = entry === null ? null : saysOf(entry.says);
  return says?.kind === "before-after" ? says.compared.verdict : null;
}

/** A change that is in place: not withdrawn, and nothing later undid it. */
export function standingActs(log: Log): Act[] {
  const acts = log.acts.filter((act) => !act.withdrawn);
  return acts.filter(
    (act, i) =>
      act.did === "changed" &&
      acts.slice(i + 1).every((later) => later.cause !== act.cause || later.did !== "reversed"),
  );
}

/** The fault is gone as far as the job shows: compared as repaired, or the change that took it away is in place. */
export function isMended(job: JobDocument): boolean {
  const verdict = comparedVerdict(job);
  if (verdict !== null) return verdict === "repaired";
  const log = logOf(job);
  const last = log.acts.findLast((act) => !act.withdrawn && act.effect !== "unclear");
  return last?.did === "changed" && last.effect === "gone";
}

/** In one line for a list: "Battery worn out: shown, mended"; empty where nothing was found yet. */
export function foundLine(job: JobDocument): string {
  const found = foundOf(job);
  if (found === null) return "";
  return `${found.name.slice(0, 120)}: ${found.standing}${isMended(job) ? ", mended" : ""}`;
}
