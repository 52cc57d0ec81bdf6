/** The name nearest to one that is wrong, by how many letters have to be changed; null where none is near. */
export function nearestOf(name: string, names: readonly string[]): string | null {
  const plain = (text: string): string => text.toLowerCase().replace(/[^\p{L}\p{N}]/gu, "");
  const wanted = plain(name);
  let best: { name: string; changes: number } | null = null;
  for (const one of names) {
    const changes = letterChanges(wanted, plain(one));
    if (changes <= Math.max(2, wanted.length / 3) && changes < (best?.changes ?? Infinity))
      best = { name: one, changes };
  }
  return best?.name ?? null;
}

/** Letters to change, add or take away (Levenshtein's distance, from memory). */
export function letterChanges(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const kept = (row[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      next.push(Math.min(kept, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[b.length] ?? 0;
}
