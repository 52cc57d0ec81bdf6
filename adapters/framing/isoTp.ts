/**
 * ISO 15765-2 on classic CAN: 0L single frame, 1L LL first frame with a 12-bit length, 2N consecutive frame,
 * 3S flow control. Several modules may be interleaved; each has its own open message.
 */
import { discard, discardUnfinished, message, type PlacedLine, type PlacedPiece } from "./lines.ts";
import { hex2 } from "./hex.ts";

export interface CanLine extends PlacedLine {
  readonly module: string;
  /** The CAN frame's data bytes, control byte first. */
  readonly data: Uint8Array;
  /** An address byte stood before it (extended addressing), and takes its place in each frame. */
  readonly addressed?: boolean;
}

/** Data bytes that fit a single and a consecutive frame. */
function fits({ addressed }: CanLine): number {
  return addressed === true ? 6 : 7;
}

interface OpenMessage {
  readonly bytes: Uint8Array;
  readonly lines: CanLine[];
  filled: number;
  /** Sequence number that must come next. */
  next: number;
  /** The first frame held fewer bytes than it can: then all of it must add up to the byte. */
  readonly exact: boolean;
}

/** Puts frames together. Every line is in exactly one of the pieces. */
export function joinCanFrames(frames: readonly CanLine[]): PlacedPiece[] {
  const pieces: PlacedPiece[] = [];
  const open = new Map<string, OpenMessage>();
  const giveUp = (module: string, reason: string, also: readonly CanLine[] = []): void => {
    const lines = [...(open.get(module)?.lines ?? []), ...also];
    open.delete(module);
    if (lines.length > 0) pieces.push(discardUnfinished(lines, reason, module));
  };
  for (const frame of frames) {
    const { module, data } = frame;
    const control = data[0];
    const current = open.get(module);
    if (current !== undefined && isRepeat(current, frame)) {
      pieces.push(discard([frame], "a frame that came twice"));
      continue;
    }
    switch (control === undefined ? -1 : control >> 4) {
      case 0:
        // What follows in its order can only belong to the long message: nothing goes on behind a single frame.
        pieces.push(single(frame));
        break;
      case 1: {
        giveUp(module, "unfinished: another message of this module began");
        const started = first(frame);
        if ("problem" in started) pieces.push(discard([frame], started.problem));
        else open.set(module, started);
        break;
      }
      case 2: {
        const problem = current === undefined ? "no first frame before it" : consecutive(current, frame);
        if (problem !== null) giveUp(module, problem, [frame]);
        else if (current !== undefined && current.filled === current.bytes.length) {
          open.delete(module);
          pieces.push(message(current.lines, module, current.bytes));
        }
        break;
      }
      case 3:
        pieces.push(discard([frame], "flow control"));
        break;
      default:
        pieces.push(
          discard([frame], control === undefined ? "no data" : `control byte ${hex2(control)} is not known`),
        );
    }
  }
  for (const [module, message_] of [...open]) {
    giveUp(module, `unfinished: ${message_.filled} of ${message_.bytes.length} bytes came`);
  }
  return pieces;
}

/** Some adapters print a line twice after a dip: a repeat right behind its original loses nothing. */
function isRepeat(current: OpenMessage, frame: CanLine): boolean {
  const last = current.lines[current.lines.length - 1];
  return (
    last !== undefined &&
    last.data.length === frame.data.length &&
    last.data.every((byte, i) => byte === frame.data[i])
  );
}

/**
 * A frame is filled up to eight bytes (ISO 15765-4, from memory), or not at all; with another length bytes were lost on the
 * way or came in, and what stands in its place may be another byte.
 */
function isFilled(came: number, wanted: number, most: number): boolean {
  return came === wanted || came === most;
}

function single(frame: CanLine): PlacedPiece {
  const length = (frame.data[0] ?? 0) & 0x0f;
  if (length === 0) return discard([frame], `single frame of length ${length}`);
  const came = frame.data.length - 1;
  // Some adapters print a message of other layers as one line: it is whole when it is as long as it says.
  const most = fits(frame);
  if (length > most && came === length) return message([frame], frame.module, frame.data.slice(1));
  if (length > most) {
    // Real modules have been seen to announce nine bytes in a full frame. What came of it is there to be read.
    if (came !== most) return discard([frame], `single frame of length ${length}`);
    const { at, piece } = message([frame], frame.module, frame.data.slice(1));
    return { at, piece: piece.kind === "message" ? { ...piece, claims: length } : piece };
  }
  if (!isFilled(came, length, most)) return discard([frame], `${came} data bytes, expected ${length}`);
  return message([frame], frame.module, frame.data.slice(1, 1 + length));
}

function first(frame: CanLine): OpenMessage | { readonly problem: string } {
  const length = (((frame.data[0] ?? 0) & 0x0f) << 8) | (frame.data[1] ?? 0);
  const firstCarries = fits(frame) - 1;
  if (length <= fits(frame)) return { problem: `first frame of length ${length}` };
  const carried = frame.data.length - 2;
  // One byte short has been met in captures of real modules, all else adding up.
  if (carried < firstCarries - 1 || carried > firstCarries)
    return { problem: `first frame with ${carried} data bytes, expected ${firstCarries}` };
  const bytes = new Uint8Array(length);
  bytes.set(frame.data.subarray(2));
  return { bytes, lines: [frame], filled: carried, next: 1, exact: carried < firstCarries };
}

/** Takes the frame in, or says why the message is lost. */
function consecutive(current: OpenMessage, frame: CanLine): string | null {
  const number = (frame.data[0] ?? 0) & 0x0f;
  if (number !== current.next) {
    return `consecutive frame ${number.toString(16).toUpperCase()}, expected ${current.next.toString(16).toUpperCase()}`;
  }
  const wanted = Math.min(fits(frame), current.bytes.length - current.filled);
  const came = frame.data.length - 1;
  if (!isFilled(came, wanted, fits(frame)) || (current.exact && came !== wanted))
    return `consecutive frame with ${came} data bytes, expected ${wanted}`;
  current.bytes.set(frame.data.subarray(1, 1 + wanted), current.filled);
  current.filled += wanted;
  current.next = (current.next + 1) & 0x0f;
  current.lines.push(frame);
  return null;
}
