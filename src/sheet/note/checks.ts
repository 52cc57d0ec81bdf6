/** Hand checks with what came of them, and causes with their proof. */
import { effectWords } from "../../interpret/causes/evidence.ts";
import { foldLog, unclear, type Act, type LogEntry, type Result } from "../../interpret/causes/results.ts";
import { cautions } from "../../interpret/causes/tables/cautions.ts";
import { causes } from "../../interpret/causes/tables/causes.ts";
import { handChecks } from "../../interpret/causes/tables/checks.ts";
import type { CauseRow, HandCheckRow } from "../../interpret/causes/types.ts";
import { clockText } from "../../interpret/text.ts";
import { inOrder, type JobDocument } from "../job.ts";
import type { Block, CheckBlock } from "./blocks.ts";
import { dateText, type Composing } from "./composing.ts";

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

const checkRows: ReadonlyMap<string, HandCheckRow> = new Map(
  (handChecks as readonly HandCheckRow[]).map((row) => [row.id, row]),
);
const causeRows: ReadonlyMap<string, CauseRow> = new Map(
  (causes as readonly CauseRow[]).map((row) => [row.id, row]),
);

/** Results and acts of the log, as they hold now; a corrected one says so, a withdrawn one stays. */
export function logBlocks({ job, mask }: Composing): CheckBlock[] {
  const log = foldLog(
    inOrder(job.log).map((i) => i.entry),
    job.vehicle,
  );
  return [
    ...log.results.map((result) => resultBlock(result, { job, mask })),
    ...log.acts.map((act) => actBlock(act, { job, mask })),
  ];
}

interface Linked {
  readonly words?: string | undefined;
  readonly cylinder?: number | undefined;
  readonly photo?: string | undefined;
  readonly link?:
    | { readonly recording: string; readonly from?: number | undefined; readonly to?: number | undefined }
    | undefined;
}

type Place = Pick<Composing, "job" | "mask">;

/** What an entry says by itself, as it was entered: for the history of one that was corrected. */
export function enteredText(check: string, entry: LogEntry): string {
  if (entry.k === "withdraw") return `withdrawn: ${entry.words ?? "no reason given"}`;
  if (entry.k === "act") return effectWords[entry.effect];
  const row = checkRows.get(check);
  const { reading, outcome } = entry;
  const seen =
    outcome === undefined
      ? ""
      : outcome === unclear
        ? "could not tell"
        : (row?.outcomes.find((o) => o.id === outcome)?.text ?? outcome);
  const read =
    reading === undefined ? "" : `${reading.values.map((v) => v ?? "–").join(", ")} ${reading.unit}`;
  return [seen, read].filter((text) => text !== "").join(", ");
}

function resultBlock(result: Result, place: Place): CheckBlock {
  const row = checkRows.get(result.check);
  const outcome = row?.outcomes.find((o) => o.id === result.outcome);
  const { figure, latest, history } = result;
  const lines = [
    outcome === undefined ? "" : `${outcome.text}: ${outcome.means}`,
    readText(latest.reading, figure),
    result.state === "unclear" ? "Unclear: it says nothing either way." : "",
    result.question ?? "",
    latest.words ?? "",
    ...common(result, latest, place),
    history.length > 1 && result.state !== "withdrawn" ? "Corrected after it was entered first." : "",
  ];
  return {
    kind: "check",
    name: row?.name ?? result.check,
    lines: lines.filter((text) => text !== "").map(place.mask),
    withdrawn: result.state === "withdrawn" ? withdrawnWords(history) : null,
  };
}

/** One value a cylinder stands beside the figure that was judged. */
function readText(
  reading: { readonly values: readonly (number | null)[]; readonly unit: string } | undefined,
  figure: Result["figure"],
): string {
  const judged = figure === undefined ? "" : `${Number(figure.value.toPrecision(4))} ${figure.unit}`;
  if (reading === undefined) return judged === "" ? "" : `Reading: ${judged}`;
  const read = `${reading.values.map((v) => v ?? "–").join(", ")} ${reading.unit}`;
  return judged === "" || judged === read ? `Reading: ${read}` : `Reading: ${read} (judged as ${judged})`;
}

const didWords: Readonly<Record<Act["did"], string>> = {
  changed: "Done",
  reversed: "Undone again",
  left: "Left in place",
};

function actBlock(act: Act, place: Place): CheckBlock {
  const row = causeRows.get(act.cause);
  const did = didWords[act.did];
  const others = act.together ?? 0;
  const lines = [
    effectWords[act.effect],
    others === 0 ? "" : `${others} more ${others === 1 ? "thing was" : "things were"} changed with it.`,
    act.words ?? "",
    ...common(act, act, place),
  ];
  return {
    kind: "check",
    name: `${did}: ${row?.repair.does ?? act.cause}`,
    lines: lines.filter((text) => text !== "").map(place.mask),
    withdrawn: act.withdrawn ? withdrawnWords(act.history) : null,
  };
}

function common(
  { at, by }: { readonly at: string; readonly by?: string | undefined },
  { link, photo, cylinder }: Linked,
  { job }: Place,
): string[] {
  const when = [dateText(at), by ?? ""].filter((text) => text !== "").join(", by ");
  const until = link?.to === undefined ? "" : ` to ${clockText(link.to)}`;
  const caption = photo === undefined ? "" : (job.photos[photo]?.caption ?? "");
  return [
    ...(cylinder === undefined ? [] : [`Cylinder ${cylinder}`]),
    when,
    ...(link === undefined
      ? []
      : [`In ${link.recording}${link.from === undefined ? "" : ` at ${clockText(link.from)}${until}`}`]),
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
    const row = checkRows.get(id);
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
