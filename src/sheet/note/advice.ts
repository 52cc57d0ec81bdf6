/** What was advised, and before and after, as blocks of the note. */
import type { Advice, CauseAdvice, EvidenceWords } from "../../interpret/causes/adviceSchema.ts";
import { nextTitle, standingText } from "../../interpret/causes/adviceText.ts";
import { comparedHead, comparedLines, comparedRows, orderLines, proofWords } from "../advised.ts";
import { tieWords } from "../tied.ts";
import type { Entry } from "../job.ts";
import { saysOf } from "../snapshot.ts";
import { beforeAfterWords, statementOf } from "../statement.ts";
import type { Block, CheckBlock } from "./blocks.ts";
import type { Composing } from "./composing.ts";

/** Likely causes with what speaks for and against each, how far each is proved, and what was next. */
export function adviceBlocks(entry: Entry, composing: Composing): Block[] {
  const says = saysOf(entry.says);
  if (says?.kind !== "advice") return [];
  const { advice } = says;
  const { mask } = composing;
  const said = statementOf(entry, composing.system);
  return [
    ...ownWords(entry),
    {
      kind: "table",
      caption: mask(`Likely causes. ${said.notes.join(" ")}`),
      head: ["cause", "how likely", "for and against", "proof"],
      rows: advice.causes.map((c) => [
        `${c.name}. ${c.about} Place: ${c.place}.`,
        standingText(c.standing),
        mask(speaking(c)),
        mask(proofText(c)),
      ]),
    },
    { kind: "list", items: orderLines(advice).map(mask) },
    nextBlock(advice, mask),
  ];
}

function ownWords({ words }: Entry): Block[] {
  return words.trim() === "" ? [] : [{ kind: "text", text: words.trim() }];
}

function speaking({ for: pro, against }: CauseAdvice): string {
  const list = (lead: string, all: readonly EvidenceWords[]): string[] =>
    all.length === 0 ? [] : [`${lead}: ${all.map((e) => e.words).join("; ")}`];
  const said = [...list("For", pro), ...list("Against", against)];
  return said.length === 0 ? "nothing seen speaks for or against it" : `${said.join(". ")}.`;
}

function proofText({ proof }: CauseAdvice): string {
  const would = proof.wouldProve === "" ? "" : ` To prove it: ${proof.wouldProve}`;
  return `${proofWords[proof.state]}. ${proof.words}${would}`;
}

function nextBlock({ next, cautionFirst }: Advice, mask: (text: string) => string): CheckBlock {
  const lines = [next.why];
  if (next.kind === "check") {
    const { check } = next;
    const cautions = check.cautions.map((c) => `Caution: ${c.text}`);
    lines.push(
      `Costs ${next.costs}. Separates ${next.separates}.`,
      ...cautions,
      ...(cautions.length === 0 ? [] : [cautionFirst]),
      ...check.steps,
      ...check.outcomes.map((o) => `${o.text} (${o.expect}): ${o.means}. ${o.then}.`),
    );
  }
  if (next.kind === "repair") lines.push(`Costs ${next.costs}.`);
  return { kind: "check", name: `Next: ${nextTitle(next)}`, lines: lines.map(mask), withdrawn: null };
}

/** The verdict first, then the figures, then what it rests on. */
export function comparedBlocks(entry: Entry, { system, mask, sources }: Composing): Block[] {
  const says = saysOf(entry.says);
  if (says?.kind !== "before-after") return [];
  const { compared, before } = says;
  const problems = [before, entry.tie].flatMap((tie) => {
    const { state } = sources.evidence(tie);
    return state === "fits" ? [] : [`${tie.file}: ${tieWords[state]}`];
  });
  const names = `Before: ${compared.before}. After: ${compared.after}.`;
  return [
    ...ownWords(entry),
    {
      kind: "statement",
      title: mask(names),
      verdict: beforeAfterWords[compared.verdict],
      words: mask(compared.words),
      generated: "",
      figures: comparedLines(compared).map(mask),
      notes: [],
      source: mask([...new Set([before.file, entry.tie.file])].join(", ")),
      problem: mask(problems.join(" ")),
    },
    ...(compared.rows.length === 0
      ? []
      : [
          {
            kind: "table" as const,
            caption: mask(`${names} Number of readings in brackets.`),
            head: [...comparedHead],
            rows: comparedRows(compared, system),
          },
        ]),
  ];
}
