/** What may ever leave the program, worked out apart from the program's own patterns. */
import type { ByteEnd } from "../../shared/wire.ts";

export function mayLeave(command: string): boolean {
  if (/^AT(Z|WS|I|E0|L0|S0|H1|AT[012]|CAF1|PC|RV|DPN|SP\d|ST[0-9A-F]{2})$/.test(command)) return true;
  // On UDS: the standard, parameters, VIN and name; codes and what is kept with them. No write, no session.
  if (/^22F(810|802|80A)[1-9A-F]?$/.test(command) || /^22(F4..){1,3}[1-9A-F]?$/.test(command)) return true;
  if (/^19(020C|4233(08|04)1E|5533|5633..|0[46].{6}FF)[1-9A-F]?$/.test(command)) return true;
  return /^0[1235679A][0-9A-F]*$/.test(command);
}

export interface Leaving {
  /** Reads that the person defined, without a reply count. */
  readonly reads?: readonly string[];
  /** The line has a rate that may be changed. */
  readonly rate?: boolean;
}

/**
 * What of all that was written to a line should not have been, in order. Rate commands are known on a line with a rate
 * only, and the bare return only right behind one; the header of one module only for a defined read.
 */
export function forbiddenIn(written: string, { reads = [], rate = false }: Leaving = {}): string[] {
  const commands = written.split("\r");
  // Each command ends in its return.
  const rest = commands.pop() ?? "";
  const found = rest === "" ? [] : [rest];
  let alone = false;
  commands.forEach((command, i) => {
    const read = reads.some((r) => command.startsWith(r) && /^[1-9A-F]?$/.test(command.slice(r.length)));
    // A reset gives the adapter its own header back.
    if (command === "ATZ" || command === "ATWS") alone = false;
    if (reads.length > 0 && /^ATSH7E[0-7]$/.test(command)) alone = true;
    else if (reads.length > 0 && command === "ATSH7DF") alone = false;
    else if (rate && /^ATBR(T1C|D(08|11|23))$/.test(command)) return;
    else if (rate && command === "" && commands[i - 1]?.startsWith("ATBRD") === true) return;
    else if (!read && (!mayLeave(command) || (alone && !command.startsWith("AT")))) found.push(command);
  });
  return found;
}

/** An end that tells what our side writes: at another rate the adapter hears noise of it. */
export function tapped(end: ByteEnd, keep: (text: string) => void): ByteEnd {
  return {
    name: end.name,
    write: (bytes) => {
      keep(String.fromCharCode(...bytes));
      return end.write(bytes);
    },
    onBytes: (listener) => end.onBytes(listener),
    onClose: (listener) => end.onClose(listener),
    close: () => end.close(),
    setBaud: (baud) => end.setBaud?.(baud) ?? Promise.resolve(),
  };
}

/** What somebody might try to make it send. */
export const hostile = [
  "04",
  "\r04\r",
  "0104",
  "08",
  "2E1101FF",
  "2F110203",
  "31010203",
  "1003",
  "2701",
  "14FFFFFF",
  "221101",
  "22F190",
  "221101\r04",
  "3E00",
  "ATMA",
  "ATSH7E0",
  "ATSH7E0\r04",
  "ATBRD08",
  "ATBRD08\r\r04",
  "ATPP0CSV23",
  "ATZ\r04",
  "engine-speed",
  "engine-speed\r04",
  "tcp:127.0.0.1:1\r04",
  "erase P0335",
  "",
  "\r",
  "\n04\n",
  "\u000004\u0000",
] as const;
