/** Hexadecimal digits of a line, spaces taken out, or why it has none. */
export type HexDigits = { readonly digits: string } | { readonly problem: string };

/**
 * Where the adapter puts spaces, every group behind the first must be whole bytes; the first may be the three
 * digits of a CAN identifier, which the caller checks.
 */
export function hexDigits(text: string): HexDigits {
  // Most lines: no spaces, nothing to put together.
  if (/^[0-9A-F]+$/.test(text)) return { digits: text };
  if (!/^[0-9A-Fa-f\s]+$/.test(text)) return { problem: "not hexadecimal" };
  const groups = text.trim().split(/\s+/);
  if (groups.some((group, i) => i > 0 && group.length % 2 !== 0)) return { problem: "a byte is cut in half" };
  return { digits: groups.join("").toUpperCase() };
}

/** Of the code of a hexadecimal digit: letters lie in the columns behind the figures, from 1 on. */
const nibble = (code: number): number => (code & 15) + (code >> 6) * 9;

/** Bytes of an even number of digits; null when the number is odd. */
export function bytesOf(digits: string): Uint8Array | null {
  if (digits.length % 2 !== 0) return null;
  const bytes = new Uint8Array(digits.length / 2);
  for (let i = 0; i < bytes.length; i++)
    bytes[i] = (nibble(digits.charCodeAt(2 * i)) << 4) | nibble(digits.charCodeAt(2 * i + 1));
  return bytes;
}

/** A byte as two digits. */
export function hex2(byte: number): string {
  return byte.toString(16).toUpperCase().padStart(2, "0");
}
