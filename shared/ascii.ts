/** Texts of ASCII as the bytes that stand for them in a file. */

/** A byte for each character, into memory that is long enough; beyond ASCII 255, which no digit and no command is. */
export function putAscii(text: string, into: Uint8Array): void {
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    into[i] = code < 0x80 ? code : 0xff;
  }
}

export function asciiBytes(text: string): Uint8Array {
  const bytes = new Uint8Array(text.length);
  putAscii(text, bytes);
  return bytes;
}

/** Whether `bytes` holds `wanted` from this place on. */
export function standsAt(wanted: Uint8Array, bytes: Uint8Array, at: number): boolean {
  const { length } = wanted;
  if (at + length > bytes.length) return false;
  for (let i = 0; i < length; i++) if (bytes[at + i] !== wanted[i]) return false;
  return true;
}
