import type { CranksideError } from "./errors.ts";

/**
 * One end of a byte line: a serial port, a TCP socket, or one end of a pair in memory. An end is used
 * once: after it closed, a new one is opened.
 */
export interface ByteEnd {
  /** As a person would type it, for messages: `serial:/dev/ttyUSB0@38400`. */
  readonly name: string;
  /** Resolves when the bytes are handed to the system; rejects with `link-closed` once closed. */
  write(bytes: Uint8Array): Promise<void>;
  /** Sets the one listener. Bytes that came before are handed over at once. */
  onBytes(listener: (bytes: Uint8Array) => void): void;
  /** Sets the one listener; called once. `null` when closed by us, else why it was lost. */
  onClose(listener: (why: CranksideError | null) => void): void;
  close(): Promise<void>;
  /** Only on a line that has a baud rate of its own: another one from now on. Rejects when the port cannot do it. */
  setBaud?(baud: number): Promise<void>;
}
