import { askedIdentified } from "../../shared/identified.ts";

/** What a recorded command asked of the vehicle. */
export type Asked =
  /** `byIdentifier`: as F4xx of service 22 (SAE J1979-2). */
  | { readonly kind: "parameters"; readonly pids: readonly number[]; readonly byIdentifier?: true }
  | { readonly kind: "service"; readonly service: number; readonly bytes: readonly number[] }
  | { readonly kind: "voltage" }
  | { readonly kind: "other" };

/**
 * Reads a command as sent: hexadecimal request bytes, with an optional single digit at the end (how many replies
 * to wait for), or a command to the adapter itself.
 */
export function asked(command: string): Asked {
  const text = command.replace(/\s+/g, "").toUpperCase();
  if (text === "ATRV") return { kind: "voltage" };
  if (!/^[0-9A-F]{2,}$/.test(text)) return { kind: "other" };
  const bytes: number[] = [];
  for (let i = 0; i + 1 < text.length; i += 2) bytes.push(parseInt(text.slice(i, i + 2), 16));
  const identified = askedIdentified(bytes);
  if (identified !== null) return { kind: "parameters", pids: identified, byIdentifier: true };
  const [service = 0, ...rest] = bytes;
  return service === 0x01 ? { kind: "parameters", pids: rest } : { kind: "service", service, bytes: rest };
}

/** The service 01 parameters that a command asked for, or none. */
export function askedParameters(command: string): readonly number[] {
  const what = asked(command);
  return what.kind === "parameters" ? what.pids : [];
}
