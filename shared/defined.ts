/**
 * Parameters that a person defines: reads by identifier (services 21 and 22), or service 01 numbers that the table
 * lacks. Each definition goes into the recording, so that whoever opens it can decode what came back.
 * recordings/parameters/README.md describes the file.
 */
import { z } from "zod/mini";
import { channelInfo, isLater } from "./decode.ts";
import { CranksideError } from "./errors.ts";
import { parameterByPid } from "./parameters.ts";
import { forms, migrated } from "./stored/forms.ts";
import { definedParameterSchema, exactBits, type DefinedParameter } from "./definedForm.ts";
import { notInShape } from "./wrongShape.ts";

export { definedParameterSchema, type DefinedParameter } from "./definedForm.ts";

/** A person reads some; a bus that answers eight questions a second carries no more. */
export const mostDefined = 32;

const fileSchema = z.strictObject({
  version: z.optional(z.int()),
  about: z.optional(z.string().check(z.maxLength(2000))),
  parameters: z.array(definedParameterSchema).check(z.minLength(1), z.maxLength(mostDefined)),
});

/** Reads the text of a file of definitions; throws `reads-invalid` that names the place, or `newer-format`. */
export function readDefinedParameters(json: string, where: string): DefinedParameter[] {
  let value: unknown;
  try {
    value = JSON.parse(json);
  } catch (error) {
    throw new CranksideError(
      "reads-invalid",
      "the parameters are not JSON",
      { found: error instanceof Error ? error.message : "an unreadable text", where },
      error,
    );
  }
  const today = migrated(forms.parameters, value, where);
  const result = fileSchema.safeParse(today);
  if (!result.success) {
    const { issues } = result.error;
    const found = { issues, value: today, whole: "a list of parameters", where };
    throw notInShape("reads-invalid", "the parameters are not as they should be", found);
  }
  const seen = new Set<string>();
  return result.data.parameters.map((row, i) => {
    const problem = problemOf(row) ?? (seen.has(row.channel) ? twice : null);
    seen.add(row.channel);
    if (problem === null) return row;
    throw new CranksideError("reads-invalid", "a parameter cannot be as it is described", {
      expected: problem.expected,
      found: JSON.stringify(row[problem.field]),
      where: `${where}, parameters.${i}.${problem.field} (${row.channel})`,
    });
  });
}

interface Problem {
  readonly field: keyof DefinedParameter;
  readonly expected: string;
}

const twice: Problem = { field: "channel", expected: "each channel once" };

/** What the shape of a definition cannot say; null when all is well. */
function problemOf(row: DefinedParameter): Problem | null {
  // What the first release took must be taken for ever: names and numbers that came into the table later are free.
  const taken = channelInfo(row.channel);
  if ((taken !== undefined && !isLater(taken)) || row.channel.endsWith(rateEnd))
    return { field: "channel", expected: `a name that is not taken, and does not end in ${rateEnd}` };
  const pid = parseInt(row.request.slice(2), 16);
  const known = parameterByPid.get(pid);
  if (row.request.startsWith("01") && ((known !== undefined && known.later !== true) || pid % 0x20 === 0))
    return { field: "request", expected: "a service 01 number that Crankside does not know already" };
  if (row.alone === true && row.module === undefined)
    return { field: "alone", expected: "a module that is asked alone" };
  if (row.alone === true && row.request.startsWith("01"))
    return { field: "alone", expected: "a request of service 21 or 22: service 01 goes to all modules" };
  const wrong = addressProblem(row);
  if (wrong !== null) return wrong;
  if (row.byteOrder === "low-first" && (row.startBit % 8 !== 0 || row.length % 8 !== 0))
    return { field: "byteOrder", expected: "whole bytes (start bit and length by eights) for low-first" };
  if (row.factor === 0) return { field: "factor", expected: "a factor that is not 0" };
  if (row.divisor === 0) return { field: "divisor", expected: "a divisor that is not 0" };
  const { noValue } = row;
  if (noValue !== undefined && noValue.atOrBelow === undefined && noValue.atOrAbove === undefined)
    return { field: "noValue", expected: "atOrBelow, atOrAbove or both" };
  if (row.plausible !== undefined && row.plausible.low >= row.plausible.high)
    return { field: "plausible", expected: "low below high" };
  if (row.kind !== "counter") return null;
  if (row.unit !== "count") return { field: "unit", expected: "count for a counter" };
  if (row.factor !== 1) return { field: "factor", expected: "1 for a counter: its steps are counted" };
  if (row.divisor !== undefined && row.divisor !== 1)
    return { field: "divisor", expected: "1 or none for a counter" };
  if (row.length > exactBits)
    return { field: "length", expected: `${exactBits} bits or fewer for a counter` };
  if (row.offset !== 0) return { field: "offset", expected: "0 for a counter" };
  if (row.signed) return { field: "signed", expected: "false for a counter" };
  return row.length < 4 ? { field: "length", expected: "4 bits or more for a counter" } : null;
}

/** What is wrong with the addresses; null when all is well. */
function addressProblem(row: DefinedParameter): Problem | null {
  const { to, from, extension } = row;
  if (to === undefined && from === undefined)
    return extension === undefined ? null : { field: "extension", expected: "to and from beside it" };
  if (to === undefined) return { field: "to", expected: "the identifier of the request beside from" };
  if (from === undefined) return { field: "from", expected: "the identifier of the reply beside to" };
  if (to.length !== from.length)
    return { field: "from", expected: `an identifier of ${to.length === 3 ? 11 : 29} bits, as to` };
  if (to === from) return { field: "from", expected: "another identifier than to" };
  if (row.module !== undefined) return { field: "module", expected: "to and from, or module, not both" };
  if (row.alone !== undefined) return { field: "alone", expected: "no alone: to names one module already" };
  if (row.request.startsWith("01"))
    return { field: "to", expected: "a request of service 21 or 22: service 01 goes to all modules" };
  return null;
}

/** A module by its own addresses, as one text: `726>72E`, `750>758/2A`; undefined when all or one as usual is asked. */
export function addressesOf({ to, from, extension }: DefinedParameter): string | undefined {
  if (to === undefined || from === undefined) return undefined;
  return `${to}>${from}${extension === undefined ? "" : `/${extension}`}`;
}

/** The name that a recording gives the module which replies under this identifier. */
export function moduleOf(from: string): string {
  return from.startsWith("18DAF1") ? from.slice(6) : from;
}

/** The bytes that a positive reply begins with: service and 40, and the identifier. */
export function replyHead(request: string): number[] {
  const bytes = (request.match(/../g) ?? []).map((pair) => parseInt(pair, 16));
  return bytes.map((byte, i) => (i === 0 ? byte + 0x40 : byte));
}

/** True for a module whose replies count for this definition. On CAN with 29 bits a recording shows the last byte. */
export function isFrom(row: DefinedParameter, module: string): boolean {
  if (row.from !== undefined) return moduleOf(row.from) === module;
  return row.module === undefined || row.module === module || row.module === `18DAF1${module}`;
}

/** The data behind the identifier when this message answers the request, else null. */
export function replyBody(request: string, message: Uint8Array): Uint8Array | null {
  const head = replyHead(request);
  return head.every((byte, i) => message[i] === byte) ? message.subarray(head.length) : null;
}

/**
 * The value inside the data bytes behind the identifier, in the definition's unit: raw * factor / divisor + offset. NaN
 * when the bytes are too few, or when it lies where the definition says that there is none.
 */
export function definedValue(row: DefinedParameter, data: Uint8Array): number {
  const { startBit, length, divisor = 1, noValue } = row;
  if (startBit + length > 8 * data.length) return Number.NaN;
  const raw = length > exactBits ? longRaw(row, data) : shortRaw(row, data);
  const value = (raw * row.factor) / divisor + row.offset;
  const none =
    noValue !== undefined &&
    (value <= (noValue.atOrBelow ?? Number.NEGATIVE_INFINITY) ||
      value >= (noValue.atOrAbove ?? Number.POSITIVE_INFINITY));
  return none ? Number.NaN : value;
}

function shortRaw({ startBit, length, byteOrder, signed }: DefinedParameter, data: Uint8Array): number {
  let raw = 0;
  if (byteOrder === "low-first") {
    for (let i = length / 8 - 1; i >= 0; i--) raw = raw * 256 + (data[startBit / 8 + i] ?? 0);
  } else {
    for (let bit = startBit; bit < startBit + length; bit++) raw = raw * 2 + bitAt(data, bit);
  }
  return signed && raw >= 2 ** (length - 1) ? raw - 2 ** length : raw;
}

/** More bits than a number holds: rounded once, at the end. */
function longRaw({ startBit, length, byteOrder, signed }: DefinedParameter, data: Uint8Array): number {
  let raw = 0n;
  if (byteOrder === "low-first") {
    for (let i = length / 8 - 1; i >= 0; i--) raw = (raw << 8n) | BigInt(data[startBit / 8 + i] ?? 0);
  } else {
    for (let bit = startBit; bit < startBit + length; bit++) raw = (raw << 1n) | BigInt(bitAt(data, bit));
  }
  return Number(signed ? BigInt.asIntN(length, raw) : raw);
}

function bitAt(data: Uint8Array, bit: number): number {
  return ((data[bit >> 3] ?? 0) >> (7 - (bit & 7))) & 1;
}

const rateEnd = "-rate";

/** The channel of a counter's steps a second. */
export function rateChannel(channel: string): string {
  return `${channel}${rateEnd}`;
}

/** Channels that one definition fills. */
export function definedChannels(row: DefinedParameter): string[] {
  return row.kind === "counter" ? [row.channel, rateChannel(row.channel)] : [row.channel];
}

/**
 * Steps from one reading of a counter to the next, past its roll-over; null for more than half of what it can
 * count: then it began anew (or was read too seldom), and no number of steps can be told.
 */
export function counterSteps(before: number, after: number, bits: number): number | null {
  const span = 2 ** bits;
  const steps = (((after - before) % span) + span) % span;
  return steps > span / 2 ? null : steps;
}
