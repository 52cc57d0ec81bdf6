/**
 * Replies of an adapter that will not show headers. There is no module address and no checksum in them, so a line
 * is believed only when it begins like a reply and its length fits; a long CAN reply comes as its length
 * ("00A") and numbered lines ("0: 46 3D ...", "1: ...").
 */
import { parameterByPid } from "../../shared/parameters.ts";
import { hasHeaderPlace, type Transport } from "./frames.ts";
import { bytesOf, hex2, hexDigits } from "./hex.ts";
import { discard, discardUnfinished, message, type PlacedLine, type PlacedPiece } from "./lines.ts";
import { splitService01 } from "./service01.ts";

const noModule = "";
const firstCarries = 6;
const otherCarry = 7;

export function isLengthLine(text: string): boolean {
  return /^[0-9A-F]{3}$/i.test(text);
}

export function numberedLine(text: string): { readonly number: number; readonly rest: string } | null {
  const match = /^([0-9A-F]):(.*)$/i.exec(text);
  return match === null ? null : { number: parseInt(match[1] ?? "", 16), rest: match[2] ?? "" };
}

interface OpenReply {
  readonly lines: PlacedLine[];
  readonly total: number;
  readonly bytes: number[];
  next: number;
}

/** `text` is the line without surrounding blanks. */
export interface TextLine extends PlacedLine {
  readonly text: string;
}

/** Numbered lines that came without returns between them, with or without the length before them. */
const glued = /^(?:([0-9A-F]{3})\s*)?(0:[0-9A-F:\s]*)$/i;

/** The length, where it is there, and the numbered lines that one line was meant to be; null for any other line. */
function apart(text: string): { readonly length: number | null; readonly lines: readonly string[] } | null {
  const [, length, numbered] = glued.exec(text) ?? [];
  if (numbered === undefined) return null;
  const lines = numbered.split(/(?=[0-9A-F]:)/i).map((part) => part.trim());
  if (length === undefined) return lines.length < 2 ? null : { length: null, lines };
  return { length: parseInt(length, 16), lines };
}

/** `transport` null: not known. */
export function readHeadersOff(lines: readonly TextLine[], transport: Transport | null): PlacedPiece[] {
  const allowNumbered = transport === null || transport === "can11" || transport === "can29";
  const pieces: PlacedPiece[] = [];
  let open: OpenReply | null = null;
  const giveUp = (reason: string): void => {
    if (open !== null) pieces.push(discardUnfinished(open.lines, reason));
    open = null;
  };
  for (const line of lines) {
    const numbered = numberedLine(line.text);
    const parts = allowNumbered ? apart(line.text) : null;
    if (parts !== null) {
      if (parts.length !== null) giveUp("unfinished: another length came");
      pieces.push(takeGlued(parts, line, open));
      open = null;
    } else if (allowNumbered && isLengthLine(line.text)) {
      giveUp("unfinished: another length came");
      open = { lines: [line], total: parseInt(line.text, 16), bytes: [], next: 0 };
    } else if (allowNumbered && numbered !== null) {
      if (open === null) {
        pieces.push(discard([line], "a numbered line without a length before it"));
        continue;
      }
      const reply: OpenReply = open;
      reply.lines.push(line);
      const problem = takeNumbered(reply, numbered);
      if (problem !== null) giveUp(problem);
      else if (reply.bytes.length >= reply.total) {
        open = null;
        pieces.push(finish(reply));
      }
    } else {
      giveUp("unfinished: another reply began");
      pieces.push(oneLine(line, transport));
    }
  }
  giveUp("unfinished");
  return pieces;
}

/** One line that has to hold the whole of one reply behind its length, which may be the line before. */
function takeGlued(
  parts: NonNullable<ReturnType<typeof apart>>,
  line: TextLine,
  open: OpenReply | null,
): PlacedPiece {
  const lines = [...(open?.lines ?? []), line];
  const total = parts.length ?? (open?.next === 0 ? open.total : null);
  if (total === null) return discardUnfinished(lines, "numbered lines without a length before them");
  const reply: OpenReply = { lines, total, bytes: [], next: 0 };
  for (const text of parts.lines) {
    const numbered = numberedLine(text);
    const over = reply.bytes.length >= total;
    const problem =
      numbered === null || over ? "more than one reply in a line" : takeNumbered(reply, numbered);
    if (problem !== null) return discardUnfinished(lines, problem);
  }
  if (reply.bytes.length < total) return discardUnfinished(lines, "unfinished");
  return finish(reply);
}

function takeNumbered(
  reply: OpenReply,
  line: { readonly number: number; readonly rest: string },
): string | null {
  if (line.number !== reply.next) {
    // Two modules that answer at once cannot be told apart without headers.
    return `line ${line.number.toString(16).toUpperCase()}, expected ${reply.next.toString(16).toUpperCase()}`;
  }
  const hex = hexDigits(line.rest);
  const bytes = "problem" in hex ? null : bytesOf(hex.digits);
  if (bytes === null) return "a numbered line is not whole bytes";
  const carries = reply.bytes.length === 0 ? firstCarries : otherCarry;
  const wanted = Math.min(carries, reply.total - reply.bytes.length);
  if (bytes.length < wanted || bytes.length > carries) {
    return `a numbered line with ${bytes.length} bytes, expected ${wanted}`;
  }
  reply.bytes.push(...bytes);
  reply.next = (reply.next + 1) & 0x0f;
  return null;
}

function finish(reply: OpenReply): PlacedPiece {
  const data = Uint8Array.from(reply.bytes.slice(0, reply.total));
  const [service = 0] = data;
  if (!isReplyService(service)) return discard(reply.lines, `service ${hex2(service)} is not a reply`);
  return message(reply.lines, noModule, data);
}

function oneLine(line: TextLine, transport: Transport | null): PlacedPiece {
  const hex = hexDigits(line.text);
  if ("problem" in hex) return discard([line], hex.problem);
  const data = bytesOf(hex.digits);
  if (data === null) return discard([line], "odd number of digits");
  const problem = hasHeaderPlace(transport, data) ? "a damaged header" : payloadProblem(data);
  return problem === null ? message([line], noModule, data) : discard([line], problem);
}

/** Replies have 40h added to the service; 7F refuses one. Only services that the program may ask are here. */
const replyServices: ReadonlySet<number> = new Set([
  0x41, 0x42, 0x43, 0x44, 0x45, 0x46, 0x47, 0x49, 0x4a, 0x54, 0x59, 0x61, 0x62, 0x7f,
]);

function isReplyService(service: number | undefined): service is number {
  return service !== undefined && replyServices.has(service);
}

/** What is wrong with a short reply by itself; null when its length fits what it claims to be. */
function payloadProblem(data: Uint8Array): string | null {
  const [service, second = 0] = data;
  if (!isReplyService(service)) return "neither a header nor the start of a reply";
  if (data.length > 7) return `${data.length} bytes without a header, at most 7 expected`;
  switch (service) {
    case 0x41:
      if (data.length < 3) return "too short";
      return parameterByPid.has(second) ? splitService01(data).problem : null;
    case 0x43:
    case 0x47:
    case 0x4a:
      // Three codes without a count, or a count and as many codes as fit beside it.
      return data.length === 7 || data.length === 2 + 2 * second
        ? null
        : `${data.length} bytes, expected three codes or a count with its codes`;
    case 0x44:
      return data.length === 1 ? null : `${data.length} bytes, expected 1`;
    case 0x7f:
      return data.length === 3 ? null : `${data.length} bytes, expected 3`;
    default:
      return data.length < 3 ? "too short" : null;
  }
}
