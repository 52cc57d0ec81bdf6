/**
 * Trouble codes from their two bytes: bits 15-14 the letter, 13-12 the first digit, then three hexadecimal
 * digits. Source: public list "OBD-II PIDs", service 03.
 */
const letters = ["P", "C", "B", "U"] as const;

export function troubleCode(raw: number): string {
  if (!Number.isInteger(raw) || raw < 0 || raw > 0xffff)
    throw new RangeError(`trouble code bytes ${raw} are not 0..65535`);
  const letter = letters[(raw >> 14) & 3] ?? "P";
  const rest = (raw & 0x0fff).toString(16).toUpperCase().padStart(3, "0");
  return `${letter}${(raw >> 12) & 3}${rest}`;
}

/** The codes in the data of a 43, 47 or 4A reply, after the service byte; zero pairs are padding. */
export function troubleCodes(data: Uint8Array, counted: boolean): string[] {
  const from = counted ? 1 : 0;
  const codes: string[] = [];
  for (let i = from; i + 1 < data.length; i += 2) {
    const raw = ((data[i] ?? 0) << 8) | (data[i + 1] ?? 0);
    if (raw !== 0) codes.push(troubleCode(raw));
  }
  return counted ? codes.slice(0, data[0] ?? 0) : codes;
}
