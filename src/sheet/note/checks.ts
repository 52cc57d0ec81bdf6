/** Hand checks with what came of them, and causes with their proof. */
import type { Act, Result } from "../../interpret/causes/results.ts";
import { checkRow } from "../../interpret/causes/rows.ts";
import { cautions } from "../../interpret/causes/tables/cautions.ts";
import { clockText } from "../../interpret/report/text.ts";
import { inOrder, type JobDocument } from "../job.ts";
import { actText, entryPlace, resultText, whenBy } from "../logText.ts";
import type { Block, CheckBlock } from "./blocks.ts";
import { dateText, type Composing } from "./composing.ts";
import { logOf } from "./found.ts";

export function checkBlocks({ job, mask }: Composing): CheckBlock[] {
  return inOrder(job.checks).map((check) => {
    const { reading, place } = check;
    const lines = [
      check.seen,
      reading === null ? "" : `Reading: ${reading.value} ${reading.unit}`,
      check.notes,
      [dateText(check.at), check.by].filter((text) => text !== "").join(", by "),
      place === undefined
        ? ""
        : `In ${mask(place.tie.file)} at ${clockText(place.from)}${place.to > place.from ? ` to ${clockText(place.to)}` : ""}`,
    ];
    return {
      kind: "check",
      name: check.name,
      lines: lines.filter((text) => text.trim() !== ""),
      withdrawn: check.withdrawn ?? null,
    };
  });
}

/** Results of the log, as they hold now; a corrected one says so, a withdrawn one stays. */
export function resultBlocks(composing: Composing): CheckBlock[] {
  return logOf(composing.job).results.map((result) => resultBlock(result, composing));
}

/** What was changed on the vehicle, oldest first, with what came of it. */
export function actBlocks(composing: Composing): CheckBlock[] {
  return logOf(composing.job).acts.map((act) => actBlock(act, composing));
}

type Place = Pick<Composing, "job" | "mask">;

function resultBlock(result: Result, place: Place): CheckBlock {
  const said = resultText(result);
  const { latest, history } = result;
  const lines = [
    said.says,
    result.state === "unclear" || result.state === "questioned" ? `${said.state}.` : "",
    result.question ?? "",
    latest.words ?? "",
    ...common(result, latest, place),
    history.length > 1 && result.state !== "withdrawn" ? "Corrected after it was entered first." : "",
  ];
  return {
    kind: "check",
    name: said.name,
    lines: lines.filter((text) => text !== "").map(place.mask),
    withdrawn: result.state === "withdrawn" ? withdrawnWords(history) : null,
  };
}

function actBlock(act: Act, place: Place): CheckBlock {
  const said = actText(act);
  const lines = [said.says, act.words ?? "", ...common(act, act, place)];
  return {
    kind: "check",
    name: said.name,
    lines: lines.filter((text) => text !== "").map(place.mask),
    withdrawn: act.withdrawn ? withdrawnWords(act.history) : null,
  };
}

function common(
  when: { readonly at: string; readonly by?: string | undefined },
  { link, photo }: Pick<Act, "link" | "photo">,
  { job }: Place,
): string[] {
  const caption = photo === undefined ? "" : (job.photos[photo]?.caption ?? "");
  return [
    whenBy(when),
    ...(link === undefined ? [] : [entryPlace(link)]),
    ...(photo === undefined ? [] : [`With a photo${caption === "" ? "" : `: ${caption}`}`]),
  ];
}

function withdrawnWords(
  history: readonly { readonly k: string; readonly words?: string | undefined }[],
): string {
  return history.find((entry) => entry.k === "withdraw")?.words ?? "no reason given";
}

/** Cautions of the checks that were done. */
export function checkCautions(job: JobDocument): string[] {
  const done = inOrder(job.log).flatMap(({ entry }) => (entry.k === "result" ? [entry.check] : []));
  const own = inOrder(job.checks).flatMap((c) => (c.check === null ? [] : [c.check]));
  return [...done, ...own].flatMap((id) => {
    const row = checkRow(id);
    if (row === undefined || row.caution === "none needed") return [];
    return row.caution.flatMap((name) =>
      name in cautions ? [cautions[name as keyof typeof cautions].text] : [],
    );
  });
}

/** What each standing takes, so that a reader in a year knows what was claimed. */
export const standingWords = {
  suspected: "suspected",
  shown: "shown: the fault went away when this was changed",
  proved: "proved: it came back when the change was reversed, or a second independent check agrees",
  excluded: "excluded",
} as const;

export function causesTable({ job }: Composing): Block[] {
  const causes = inOrder(job.causes);
  if (causes.length === 0) return [];
  return [
    {
      kind: "table",
      caption: "Causes, and how far each is proved.",
      head: ["cause", "standing", "proof"],
      rows: causes.map((c) => [c.name, standingWords[c.standing], c.proof]),
    },
  ];
}
