/** The first letter of words that are put at the beginning of a sentence, or into one. Pure. */

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export function small(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}

/** A name within a sentence: "Battery worn out" becomes "battery worn out"; "RPM" and "P0335" stay as they are. */
export function withinSentence(text: string): string {
  return /^[A-Z][a-z]/.test(text) ? small(text) : text;
}
