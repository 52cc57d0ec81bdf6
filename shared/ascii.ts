/** Texts of ASCII as the bytes that stand for them in a file. */

/** One byte for each character; what is beyond ASCII becomes 255, which no digit and no command is. */
export function asciiBytes(text: string): Uint8Array {
  return Uint8Array.from(text, (character) => {
    const code = character.charCodeAt(0);
    return code < 0x80 ? code : 0xff;
  });
}

/** Whether `bytes` holds `wanted` from this place on. */
export function standsAt(wanted: Uint8Array, bytes: Uint8Array, at: number): boolean {
  const { length } = wanted;
  if (at + length > bytes.length) return false;
  for (let i = 0; i < length; i++) if (bytes[at + i] !== wanted[i]) return false;
  return true;
}
