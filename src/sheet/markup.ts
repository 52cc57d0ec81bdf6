/** Text for HTML, SVG and Markdown: whatever is put in is escaped, unless it was made here. */

/** Markup that was made by `markup` and is not escaped again. */
export class Markup {
  readonly text: string;

  constructor(text: string) {
    this.text = text;
  }
}

export type Piece = string | number | Markup | null | undefined | readonly Piece[];

/** A template whose values are escaped; null and undefined are left out, lists are joined. */
export function markup(parts: TemplateStringsArray, ...values: readonly Piece[]): Markup {
  let text = parts[0] ?? "";
  values.forEach((value, i) => {
    text += piece(value) + (parts[i + 1] ?? "");
  });
  return new Markup(text);
}

function piece(value: Piece): string {
  if (value === null || value === undefined) return "";
  if (value instanceof Markup) return value.text;
  if (typeof value === "string") return escaped(value);
  if (typeof value === "number") return String(value);
  return value.map(piece).join("");
}

const entities: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

/** For the text of an element and for a quoted attribute. Characters that XML does not know become U+FFFD. */
export function escaped(text: string): string {
  return text
    .replace(/[^\t\n\r\u0020-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu, "\uFFFD")
    .replace(/[&<>"']/g, (c) => entities[c] ?? c);
}

/** Characters that turn the direction of what follows would let a caption reach beyond its own place. */
export function plainText(text: string): string {
  return text.replace(/[\u202A-\u202E\u2066-\u2069]/g, "");
}
