/** What came, as far as it can be read. */

/** Mostly readable characters. */
export function isText(text: string): boolean {
  let readable = 0;
  for (const character of text) if (character >= " " && character <= "~") readable += 1;
  return readable >= text.length * 0.9;
}

/** Unreadable bytes as hexadecimal, cut at `most` characters. */
export function printable(text: string, most: number): string {
  const shown = text.replace(
    /[^ -~]/g,
    (c) => `\\x${c.charCodeAt(0).toString(16).padStart(2, "0").toUpperCase()}`,
  );
  return shown.length > most ? `${shown.slice(0, most - 3)}...` : shown;
}
