/** Bytes of a survey in pieces, characters and numbers. */

export function pieces(bytes: Uint8Array, length: number): Uint8Array[] {
  const parts: Uint8Array[] = [];
  for (let at = 0; at + length <= bytes.length; at += length) parts.push(bytes.slice(at, at + length));
  return parts;
}

/** Printable ASCII; padding left out. */
export function characters(bytes: Uint8Array): string {
  return String.fromCharCode(...bytes.filter((byte) => byte >= 0x20 && byte < 0x7f)).trim();
}

export function number(data: Uint8Array, at: number, bytes: number): number {
  let value = 0;
  for (let i = 0; i < bytes; i++) value = value * 256 + (data[at + i] ?? 0);
  return value;
}

/** Floating dust away, so that limits compare as they read. */
export function rounded(value: number): number {
  return Math.round(value * 1e6) / 1e6;
}

export function hex(value: number): string {
  return value.toString(16).toUpperCase().padStart(2, "0");
}
