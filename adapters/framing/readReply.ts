import type { ProtocolId } from "../../shared/protocols.ts";
import { isMarkedDamaged, statusWordOf } from "../../shared/statusWords.ts";
import { readFrame, transportOf, transports, type Frame, type Transport } from "./frames.ts";
import { isLengthLine, numberedLine, readHeadersOff, type TextLine } from "./headersOff.ts";
import { hexDigits } from "./hex.ts";
import { joinCanFrames, type CanLine } from "./isoTp.ts";
import { discard, message, type PlacedPiece } from "./lines.ts";
import type { Piece } from "./pieces.ts";
import { QuickReply } from "./quick.ts";

/** Modules beside those of the standard, which a person named. */
export interface Others {
  /** Identifiers on CAN that their replies come under: `72E`, `18DAF160`. */
  readonly ids: ReadonlySet<string>;
  /** Each of their frames has an address byte before its control byte (ISO 15765-2, extended addressing). */
  readonly addressed?: boolean;
}

/**
 * Takes a reply apart: messages by module, status words, and what had to be discarded with the reason. Every line
 * is in exactly one piece; pieces are in the order of their first lines. With `protocol` null the transport
 * is inferred from the lines that prove one (by identifier or checksum). `headersOn`, where the caller knows it,
 * says how lines begin; otherwise a reply without any header in it is believed when its lengths fit, with module
 * "". `others`: modules beside those of the standard. Never throws.
 */
export function readReply(
  lines: readonly string[],
  protocol: ProtocolId | null,
  headersOn?: boolean,
  others?: Others,
): Piece[] {
  const mayBeUsual = protocol !== null && headersOn !== false && others === undefined;
  return (mayBeUsual ? quick.pieces(lines, protocol) : null) ?? readAny(lines, protocol, headersOn, others);
}

const quick = new QuickReply();

/** Any reply, the usual one too. */
export function readAny(
  lines: readonly string[],
  protocol: ProtocolId | null,
  headersOn?: boolean,
  others?: Others,
): Piece[] {
  const placed: PlacedPiece[] = [];
  const data: TextLine[] = [];
  lines.forEach((raw, at) => {
    const text = raw.replaceAll("\0", "").trim();
    const status = statusWordOf(text);
    if (text === "") placed.push(discard([{ at, raw }], "an empty line"));
    else if (status !== null) placed.push({ at, piece: { kind: "status", word: status.word, lines: [raw] } });
    else if (isMarkedDamaged(text)) placed.push(discard([{ at, raw }], "the adapter marked it as damaged"));
    else if (isEcho(text, lines[at + 1])) placed.push(discard([{ at, raw }], "an echo of what was sent"));
    else data.push({ at, raw, text: text.replace(begun, "") });
  });
  placed.push(...readData(data, protocol, headersOn, others));
  return placed.sort((a, b) => a.at - b.at).map(({ piece }) => piece);
}

/** Some adapters go on on the same line behind the word for what they had to do first. */
const begun = /^(?:SEARCHING[\s.]*|BUS ?INIT[:\s.]*OK\s*)/i;

/** Requests of services 01 to 0A, 14, 19, 21 and 22, with or without a reply count, and commands to the adapter. */
function isEcho(text: string, nextLine: string | undefined): boolean {
  const packed = text.replace(/\s+/g, "").replace(/^>/, "").toUpperCase();
  if (/^AT[A-Z@]/.test(packed)) return true;
  if (!/^(0[1-9A]|14|19|2[12])[0-9A-F]{0,13}$/.test(packed)) return false;
  // "031" may be the length of a numbered reply as well as service 03 with a reply count.
  return !(isLengthLine(text) && nextLine !== undefined && numberedLine(nextLine.trim())?.number === 0);
}

function readData(
  lines: readonly TextLine[],
  protocol: ProtocolId | null,
  headersOn: boolean | undefined,
  others: Others | undefined,
): PlacedPiece[] {
  if (lines.length === 0) return [];
  if (headersOn === false) return readHeadersOff(lines, protocol === null ? null : transportOf(protocol));
  const transport = protocol === null ? infer(lines) : transportOf(protocol);
  const framed = lines.map((line) => ({ line, frame: frameOf(transport, line, others) }));
  if (framed.some(({ frame }) => !("problem" in frame))) {
    return transport === "can11" || transport === "can29" ? canPieces(framed) : framed.map(pieceOf);
  }
  if (headersOn !== true) {
    const bare = readHeadersOff(lines, transport);
    if (bare.some(({ piece }) => piece.kind === "message")) return bare;
  }
  return framed.map(pieceOf);
}

type FrameOrProblem = Frame | { readonly problem: string };

interface Framed {
  readonly line: TextLine;
  readonly frame: FrameOrProblem;
}

function frameOf(transport: Transport | null, line: TextLine, others?: Others): FrameOrProblem {
  const hex = hexDigits(line.text);
  if ("problem" in hex) return hex;
  if (transport === null) return { problem: "the protocol is unknown and no single one fits" };
  const frame = readFrame(transport, hex.digits, others?.ids);
  if (others?.addressed !== true || "problem" in frame || !isOther(frame.module, others)) return frame;
  return { module: frame.module, data: frame.data.subarray(1), addressed: true };
}

/** On CAN with 29 bits a module is known by the last byte of its identifier. */
function isOther(module: string, { ids }: Others): boolean {
  return ids.has(module) || ids.has(`18DAF1${module}`);
}

function pieceOf({ line, frame }: Framed): PlacedPiece {
  return "problem" in frame ? discard([line], frame.problem) : message([line], frame.module, frame.data);
}

function canPieces(framed: readonly Framed[]): PlacedPiece[] {
  const frames: CanLine[] = [];
  const pieces: PlacedPiece[] = [];
  for (const { line, frame } of framed) {
    if ("problem" in frame) pieces.push(discard([line], frame.problem));
    else frames.push({ at: line.at, raw: line.raw, ...frame });
  }
  return [...pieces, ...joinCanFrames(frames)];
}

/** The one transport that fits more lines than any other; null when none does. */
function infer(lines: readonly TextLine[]): Transport | null {
  let best: Transport | null = null;
  let most = 0;
  let tied = false;
  for (const transport of transports) {
    const fits = lines.filter((line) => !("problem" in frameOf(transport, line))).length;
    if (fits > most) {
      best = transport;
      most = fits;
      tied = false;
    } else if (fits === most && fits > 0) tied = true;
  }
  return tied ? null : best;
}
