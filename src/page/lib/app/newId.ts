/** A name that nothing else has: of a mark, an entry, a page. */
export function newId(): string {
  return [...crypto.getRandomValues(new Uint8Array(6))].map((b) => b.toString(16).padStart(2, "0")).join("");
}
