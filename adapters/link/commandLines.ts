/**
 * Cuts what a person's program sends into commands at each carriage return: the adapter's side of the line.
 * The other side, a reply, cannot be cut this way: a half reply whose delimiter never comes must still reach the
 * recording, and a parser that waits for its delimiter keeps it to itself.
 */
import { ReadlineParser } from "@serialport/parser-readline";
import type { ByteEnd } from "../../shared/wire.ts";

export interface CommandLineOptions {
  /** Longest command, bytes; what is longer is dropped up to its carriage return. 256 when not said. */
  readonly most?: number;
  /** Told of every chunk before it is cut: a single character interrupts an adapter that waits. */
  readonly onBytes?: (bytes: Uint8Array) => void;
  /** Told once of a command that was too long. */
  readonly onTooLong?: () => void;
}

const carriageReturn = 0x0d;

/** Takes the end's bytes; calls `onLine` with each command, one character a byte, without its carriage return. */
export function commandLines(
  end: ByteEnd,
  onLine: (line: string) => void,
  { most = 256, onBytes, onTooLong }: CommandLineOptions = {},
): void {
  // With its delimiter left on, so that a bare carriage return, which repeats a command, is a line as well.
  const parser = new ReadlineParser({ delimiter: "\r", encoding: "latin1", includeDelimiter: true });
  let linesIn = 0;
  let linesOut = 0;
  const tooLong = new Set<number>();
  parser.on("data", (text: string) => {
    for (const line of text.split("\r").slice(0, -1)) {
      if (!tooLong.delete(linesOut++)) onLine(line);
    }
  });
  // The parser has no limit of its own, so bytes are counted before it sees them.
  let length = 0;
  end.onBytes((bytes) => {
    onBytes?.(bytes);
    const kept: number[] = [];
    for (const byte of bytes) {
      if (byte === carriageReturn) {
        kept.push(byte);
        length = 0;
        linesIn += 1;
        continue;
      }
      length += 1;
      if (length <= most) kept.push(byte);
      else if (length === most + 1) {
        tooLong.add(linesIn);
        onTooLong?.();
      }
    }
    if (kept.length > 0) parser.write(Uint8Array.from(kept));
  });
}
