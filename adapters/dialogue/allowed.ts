/**
 * What may leave the program. Every request passes through `permit`, which knows a closed list of reading services
 * and a closed list of commands to the adapter itself. Nothing that writes, drives a part or clears is on it
 * (clearing.ts is the one other way, for service 04).
 */
import { CranksideError } from "../../shared/errors.ts";
import { isHeaderPair, type HeaderPair } from "./headers.ts";
import { fasterRates, rateWait } from "./fasterRates.ts";

/** Requests with identifiers 21 and 22 that the person defined, each in full: `221A2B`. */
export type DefinedReads = ReadonlySet<string>;

const noReads: DefinedReads = new Set();

/**
 * Commands to the adapter, in full. The empty one is not among them: a bare carriage return repeats the last command,
 * and that may be another program's, such as the clearing of codes.
 */
const adapterCommands: ReadonlySet<string> = new Set([
  "ATZ",
  "ATWS",
  "ATI",
  "ATE0",
  "ATL0",
  "ATS0",
  "ATH1",
  "ATAT0",
  "ATAT1",
  "ATAT2",
  "ATCAF1",
  "ATPC",
  "ATRV",
  "ATDPN",
  ...Array.from({ length: 10 }, (_, protocol) => `ATSP${protocol}`),
]);

/**
 * Commands that change the rate of the serial line. They, the wait that goes with them and the bare carriage return that
 * confirms one pass only inside `Dialogue.faster`, because the line has to change with them.
 */
const rateChanges: ReadonlySet<string> = new Set(fasterRates.map(({ divisor }) => `ATBRD${divisor}`));

/** Inside a change of the rate: nothing that concerns the vehicle, and the bare return only behind the rate command. */
export function permitInRateChange(command: string, before: string | null): string {
  if (command === "" && before !== null && rateChanges.has(before)) return command;
  if (command === rateWait || rateChanges.has(command) || adapterCommands.has(command)) return command;
  throw new CranksideError("request-refused", "this is never sent while the rate changes", {
    expected: "the rate command, or a listed adapter command",
    found: JSON.stringify(command.slice(0, 60)),
  });
}

/** Wait for replies, in steps of 4 ms. */
const replyWait = /^ATST[0-9A-F]{2}$/;

/**
 * Reading services with the bytes that follow, then an optional digit: how many replies to wait for.
 * 01 and 06 take up to six identifiers in one request on CAN, 02 up to three pairs of parameter and frame.
 */
const readingServices: readonly RegExp[] = [
  /^01([0-9A-F]{2}){1,6}[1-9A-F]?$/,
  /^02([0-9A-F]{4}){1,3}[1-9A-F]?$/,
  /^03[1-9A-F]?$/,
  /^05[0-9A-F]{4}[1-9A-F]?$/,
  /^06([0-9A-F]{2}){1,6}[1-9A-F]?$/,
  /^07[1-9A-F]?$/,
  /^09[0-9A-F]{2}[1-9A-F]?$/,
  /^0A[1-9A-F]?$/,
];

/**
 * Reading on UDS (SAE J1979-2), in closed forms: which standard it is, up to three parameters, VIN and module name; codes
 * by status, of the emissions group, permanent ones, readiness of a group, and what is kept with one code.
 */
const identifiedReads: readonly RegExp[] = [
  /^22F810[1-9A-F]?$/,
  /^22(F4[0-9A-F]{2}){1,3}[1-9A-F]?$/,
  /^22F80[2A][1-9A-F]?$/,
  /^19020C[1-9A-F]?$/,
  /^194233(?:08|04)1E[1-9A-F]?$/,
  /^195533[1-9A-F]?$/,
  /^195633[0-9A-F]{2}[1-9A-F]?$/,
  /^190[46][0-9A-F]{6}FF[1-9A-F]?$/,
];

const definedRead = /^(?:21[0-9A-F]{2}|22[0-9A-F]{4})$/;

/** True for a read by identifier that a person may define: service 21 with one byte, or 22 with two. */
export function mayBeDefined(request: string): boolean {
  return definedRead.test(request);
}

export function isPermitted(command: string, reads: DefinedReads = noReads): boolean {
  if (adapterCommands.has(command) || replyWait.test(command)) return true;
  if ([...readingServices, ...identifiedReads].some((shape) => shape.test(command))) return true;
  const bare = command.length % 2 === 1 ? command.slice(0, -1) : command;
  return mayBeDefined(bare) && reads.has(bare) && /^[0-9A-F]*[1-9A-F]?$/.test(command);
}

/** A read that the person defined, for one module alone, and the headers before and behind it; throws otherwise. */
export function permitAlone(read: string, reads: DefinedReads, headers: HeaderPair): string {
  if (isHeaderPair(headers) && /^2/.test(read)) return permit(read, reads);
  throw new CranksideError("request-refused", "no module is asked this alone", {
    expected: "a defined read of service 21 or 22, with a listed header",
    found: JSON.stringify(`${headers.alone} ${read} ${headers.all}`.slice(0, 60)),
  });
}

/** Hands the command back if it may be sent; throws `request-refused` otherwise. Upper case, no spaces. */
export function permit(command: string, reads: DefinedReads = noReads): string {
  if (isPermitted(command, reads)) return command;
  throw new CranksideError("request-refused", "this request is never sent", {
    expected:
      "a reading service (01 02 03 05 06 07 09 0A, 19 and 22 in closed forms, or 21 and 22 as defined) or a listed adapter command",
    found: JSON.stringify(command.slice(0, 60)),
  });
}
