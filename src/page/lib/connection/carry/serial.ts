import { messageOf } from "../../../../../shared/errors.ts";
import type { BrowserDevice, DeviceEars } from "./device.ts";

/** The parts of Web Serial (WICG draft, "Web Serial API") that are used here; TypeScript's own library does not have them. */
export interface SerialPort extends EventTarget {
  readonly readable: ReadableStream<Uint8Array> | null;
  readonly writable: WritableStream<Uint8Array> | null;
  open(options: { readonly baudRate: number; readonly bufferSize: number }): Promise<void>;
  close(): Promise<void>;
  getInfo(): { readonly usbVendorId?: number; readonly usbProductId?: number };
}
export interface Serial {
  requestPort(): Promise<SerialPort>;
  getPorts(): Promise<readonly SerialPort[]>;
}

/** More than an adapter says while the page draws a frame. */
const bufferSize = 64 * 1024;

function nameOf(port: SerialPort): string {
  const { usbVendorId: vendor, usbProductId: product } = port.getInfo();
  const hex = (number: number): string => number.toString(16).padStart(4, "0");
  return vendor === undefined ? "serial port" : `USB serial port ${hex(vendor)}:${hex(product ?? 0)}`;
}

/** Reads until it is cancelled or the device is gone; resolves with why it ended, null when it was cancelled. */
async function readOn(
  reader: ReadableStreamDefaultReader<Uint8Array>,
  ears: DeviceEars,
): Promise<string | null> {
  try {
    for (;;) {
      const { value, done } = await reader.read();
      if (done) return null;
      ears.bytes(value);
    }
  } catch (error) {
    return messageOf(error);
  } finally {
    reader.releaseLock();
  }
}

/** A port that the person let the page have. A framing error ends one reader, not the port: then it is read on. */
export function serialDevice(port: SerialPort): BrowserDevice {
  let stop: (() => Promise<void>) | null = null;
  let writer: WritableStreamDefaultWriter<Uint8Array> | null = null;
  return {
    way: "serial",
    name: nameOf(port),
    async open(baud, ears) {
      await port.open({ baudRate: baud, bufferSize });
      const on = { going: true, reader: null as ReadableStreamDefaultReader<Uint8Array> | null };
      const reading = (async () => {
        let why: string | null = "the port was closed";
        // Each error of the line ends one reader and leaves a new stream; a port that is gone leaves none.
        while (why !== null && port.readable !== null) {
          on.reader = port.readable.getReader();
          why = await readOn(on.reader, ears);
        }
        if (!on.going) return;
        stop = null;
        ears.lost(why ?? "the port was closed");
      })();
      stop = async () => {
        on.going = false;
        // A write under way keeps the port from closing.
        await Promise.allSettled([writer?.abort(new Error("it was closed meanwhile")), on.reader?.cancel()]);
        await reading;
        await port.close();
      };
    },
    async write(bytes) {
      if (port.writable === null) throw new Error("it is not open");
      const mine = port.writable.getWriter();
      writer = mine;
      try {
        await mine.write(bytes);
      } finally {
        writer = null;
        mine.releaseLock();
      }
    },
    async close() {
      const ending = stop;
      stop = null;
      await ending?.();
    },
  };
}

/** Asks the person to choose; rejects when they close the choice. */
export async function chooseSerial(serial: Serial): Promise<BrowserDevice> {
  return serialDevice(await serial.requestPort());
}
