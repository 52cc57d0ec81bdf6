/**
 * Diagnostics on UDS (SAE J1979-2): service 01 parameters as identifiers F4xx, and codes of three bytes from service 19.
 * Forms: ISO 14229-1 as open implementations have it; recordings/J1979-2.md says of each detail whether it was published.
 */
import { troubleCode } from "./codes.ts";
import { confirmedBit, failureName, pendingBit, statusWords } from "./failureTypes.ts";
import { parameterByPid } from "./parameters.ts";

/** A code with its third byte and its status. */
export interface CodeDetail {
  readonly code: string;
  /** Third byte, as a number; its meaning in words. */
  readonly failureType: number;
  readonly failure: string;
  readonly status: number;
  /** The bits of the status in words. */
  readonly states: readonly string[];
}

export interface ToldCodes {
  readonly stored: readonly string[];
  readonly pending: readonly string[];
  /** null: this answer is not about permanent codes. */
  readonly permanent: readonly string[] | null;
  readonly details: readonly CodeDetail[];
}

/** Emissions as a functional group. */
const emissions = 0x33;

/** The codes of an answer to 19 02, 19 42 or 19 55; null for any other. */
export function identifiedCodes(data: Uint8Array): ToldCodes | null {
  const [service, kind, group] = data;
  if (service !== 0x59) return null;
  if (kind === 0x02) return told(records(data, 3, 0), false);
  // Behind the group: status and severity bits that are supported, and the format of the codes.
  if (kind === 0x42 && group === emissions) return told(records(data, 6, 1), false);
  if (kind === 0x55 && group === emissions) return told(records(data, 5, 0), true);
  return null;
}

/** Code and status, behind so many bytes of severity. */
function records(data: Uint8Array, from: number, severity: number): CodeDetail[] {
  const found: CodeDetail[] = [];
  for (let at = from; at + severity + 4 <= data.length; at += severity + 4) {
    const detail = detailAt(data, at + severity);
    if (detail !== null) found.push(detail);
  }
  return found;
}

/** Three bytes and the status; null where all three are 0: padding. */
export function detailAt(data: Uint8Array, at: number): CodeDetail | null {
  const [high = 0, low = 0, failureType = 0, status = 0] = data.subarray(at, at + 4);
  if (high === 0 && low === 0 && failureType === 0) return null;
  return {
    ...{ code: troubleCode((high << 8) | low), failureType, failure: failureName(failureType) },
    ...{ status, states: statusWords(status) },
  };
}

function told(details: readonly CodeDetail[], permanent: boolean): ToldCodes {
  const with_ = (bit: number): string[] => [
    ...new Set(details.filter(({ status }) => (status & bit) !== 0).map(({ code }) => code)),
  ];
  if (permanent) return { stored: [], pending: [], permanent: details.map(({ code }) => code), details };
  return { stored: with_(confirmedBit), pending: with_(pendingBit), permanent: null, details };
}

/** The request for these parameters. */
export function identifiedRequest(pids: readonly number[]): string {
  return `22${pids.map((pid) => `F4${pid.toString(16).toUpperCase().padStart(2, "0")}`).join("")}`;
}

/** The parameters that a request asks for by identifier; null for any other request. */
export function askedIdentified(bytes: readonly number[]): number[] | null {
  const [service, ...rest] = bytes;
  if (service !== 0x22 || rest.length === 0 || rest.length % 2 !== 0) return null;
  const pids: number[] = [];
  for (let i = 0; i < rest.length; i += 2) {
    if (rest[i] !== 0xf4) return null;
    pids.push(rest[i + 1] ?? 0);
  }
  return pids;
}

export interface IdentifiedPart {
  readonly pid: number;
  readonly data: Uint8Array;
}

/**
 * Cuts a 62 reply into F4xx parameters by the lengths of the table; a single one that was asked owns all bytes. Empty
 * when the bytes do not come out even.
 */
export function identifiedParts(data: Uint8Array, asked: readonly number[]): readonly IdentifiedPart[] {
  if (data[0] !== 0x62 || data[1] !== 0xf4) return [];
  if (asked.length === 1) return data[2] === asked[0] ? [{ pid: asked[0] ?? 0, data: data.slice(3) }] : [];
  return cut(data, 1, asked) ?? [];
}

function cut(data: Uint8Array, at: number, asked: readonly number[]): readonly IdentifiedPart[] | null {
  if (at === data.length) return [];
  const pid = data[at + 1];
  if (data[at] !== 0xf4 || pid === undefined || !asked.includes(pid)) return null;
  const stop = at + 2 + (parameterByPid.get(pid)?.bytes ?? data.length);
  if (stop > data.length) return null;
  const rest = cut(data, stop, asked);
  return rest === null ? null : [{ pid, data: data.slice(at + 2, stop) }, ...rest];
}
