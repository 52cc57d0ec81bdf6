/** Texts cut to what has room, at the end of a sentence where there is one. Pure. */

/** Told where something was cut off. */
export const moreInAnnex = "… (more in the annex)";

/** At most so many characters and sentences of it, on one line; what was cut is told. */
export function brief(text: string, longest: number, mostSentences = Infinity): string {
  const plain = text.replace(/\s+/gu, " ").trim();
  const sentences = plain.match(/[^.!?]+(?:[.!?]+(?=\s|$)|[.!?]+(?=\S)[^.!?]*)*[.!?]*\s*/gu) ?? [];
  let kept = "";
  for (const [i, sentence] of sentences.entries()) {
    if (i >= mostSentences || (kept + sentence).trim().length > longest) break;
    kept += sentence;
  }
  kept = kept.trim();
  if (kept === plain) return plain;
  const room = longest - moreInAnnex.length - 1;
  if (kept !== "" && kept.length <= room) return `${kept} ${moreInAnnex}`;
  const cut = Array.from(plain).slice(0, room).join("");
  const end = cut.lastIndexOf(" ");
  return `${(end > room / 2 ? cut.slice(0, end) : cut).trimEnd()}${moreInAnnex}`;
}
