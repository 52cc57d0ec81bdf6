/** What is said where nothing is complained of. */
import { withinSentence } from "../../../shared/letters.ts";
import type { Considered } from "./visit.ts";

/** Nothing is told and nothing seen that complains: the person is asked, and what is healthy is called so. */
export function askWords({ situation }: Considered): string {
  const signs = (situation.heard ?? []).flatMap((h) => h.findings.signs);
  const judged = new Set(signs.filter((s) => s.verdict !== "cannot-tell").map((s) => s.id));
  const off = signs.filter((s) => s.verdict === "outside");
  const codes = [...new Set((situation.heard ?? []).flatMap((h) => h.findings.codes.map((c) => c.code)))];
  const ask = "What does it do? Choose a complaint to rank causes.";
  const stored = codes.length === 0 ? "" : ` Stored: ${codes.join(", ")}, unknown to the tables.`;
  if (judged.size === 0) return `No complaint yet, and nothing seen.${stored} ${ask}`;
  if (off.length > 0) {
    const titles = [...new Set(off.map((s) => withinSentence(s.title)))].join(", ");
    return `No complaint yet. Outside its range: ${titles}; that is no complaint by itself.${stored} ${ask}`;
  }
  const many = `${judged.size} ${judged.size === 1 ? "sign" : "signs"}`;
  return `Healthy as far as it was seen: ${many} judged, none outside its range.${stored} ${ask}`;
}
