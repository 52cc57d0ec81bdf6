import type { CarriedWay } from "../../../../../shared/carried.ts";

/** What comes from a device while it is open. */
export interface DeviceEars {
  bytes(bytes: Uint8Array): void;
  /** Once: it went away by itself. */
  lost(why: string): void;
}

/** A device that the person let the page have, and that can be opened again and again. */
export interface BrowserDevice {
  readonly way: CarriedWay;
  /** As the browser names it. */
  readonly name: string;
  /** Rejects with an error that says why. `baud` is for a serial port. */
  open(baud: number, ears: DeviceEars): Promise<void>;
  /** Resolves when the device has taken all of it. */
  write(bytes: Uint8Array): Promise<void>;
  close(): Promise<void>;
}

/** Pieces of at most so many bytes, in order. */
export function* piecesOf(bytes: Uint8Array, size: number): Generator<Uint8Array> {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}
