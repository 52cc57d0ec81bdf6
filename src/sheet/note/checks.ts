/** Hand checks with what came of them, and causes with their proof. */
import { clockText } from "../../interpret/text.ts";
import { inOrder } from "../job.ts";
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
