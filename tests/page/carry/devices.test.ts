/** Devices as a browser gives them, scripted: what is chosen of their services, and how bytes go in and out. */
import { expect, test } from "vitest";
import {
  bleDevice,
  pieceBytes,
  serialPairOf,
  serialServices,
} from "../../../src/page/lib/connection/carry/ble.ts";
import { serialDevice, type SerialPort } from "../../../src/page/lib/connection/carry/serial.ts";

type Does = "notify" | "indicate" | "write" | "writeWithoutResponse";

class Scripted extends EventTarget {
  value?: DataView;
  readonly written: { bytes: number[]; answered: boolean }[] = [];
  readonly uuid: string;
  readonly properties: Record<Does, boolean>;
  constructor(uuid: string, ...does: Does[]) {
    super();
    this.uuid = uuid;
    this.properties = { notify: false, indicate: false, write: false, writeWithoutResponse: false };
    for (const one of does) this.properties[one] = true;
  }
  startNotifications(): Promise<void> {
    return Promise.resolve();
  }
  writeValueWithResponse(bytes: Uint8Array): Promise<void> {
    this.written.push({ bytes: [...bytes], answered: true });
    return Promise.resolve();
  }
  writeValueWithoutResponse(bytes: Uint8Array): Promise<void> {
    this.written.push({ bytes: [...bytes], answered: false });
    return Promise.resolve();
  }
  say(...bytes: number[]): void {
    // Within a larger piece of memory, as a browser may give it.
    const memory = Uint8Array.of(0, ...bytes, 0);
    this.value = new DataView(memory.buffer, 1, bytes.length);
    this.dispatchEvent(new Event("characteristicvaluechanged"));
  }
}

const service = (uuid: string, ...characteristics: Scripted[]) => ({
  uuid,
  getCharacteristics: () => Promise.resolve(characteristics),
});

test("the usual service is taken before another that could carry a line, too", async () => {
  const battery = service("0000180f-0000-1000-8000-00805f9b34fb", new Scripted("2a19", "notify"));
  const other = service("12345678-0000-1000-8000-00805f9b34fb", new Scripted("x", "notify", "write"));
  const usual = service(serialServices[1] ?? "", new Scripted("a", "notify"), new Scripted("b", "write"));
  const pair = await serialPairOf([battery, other, usual]);
  expect(pair?.from.uuid).toBe("a");
  expect(pair?.to.uuid).toBe("b");
  expect((await serialPairOf([battery, other]))?.to.uuid).toBe("x");
  expect(await serialPairOf([battery])).toBe(null);
});

function bleWith(...characteristics: Scripted[]) {
  const device = Object.assign(new EventTarget(), {
    name: "adapter",
    gatt: {
      connect: () =>
        Promise.resolve({
          getPrimaryServices: () => Promise.resolve([service(serialServices[0] ?? "", ...characteristics)]),
        }),
      disconnect: () => undefined,
    },
  });
  return device;
}

test("a command longer than a packet is written in pieces, and what is told arrives whole", async () => {
  const one = new Scripted("both", "notify", "write", "writeWithoutResponse");
  const device = bleDevice(bleWith(one));
  const heard: number[] = [];
  await device.open(0, { bytes: (bytes) => heard.push(...bytes), lost: () => undefined });
  const command = Uint8Array.from({ length: 2 * pieceBytes + 3 }, (_, i) => i);
  await device.write(command);
  expect(one.written.map(({ bytes }) => bytes.length)).toEqual([pieceBytes, pieceBytes, 3]);
  expect(one.written.flatMap(({ bytes }) => bytes)).toEqual([...command]);
  one.say(0x34, 0x31);
  expect(heard).toEqual([0x34, 0x31]);
  await device.close();
  one.say(0x30);
  expect(heard).toEqual([0x34, 0x31]);
  await expect(device.write(command)).rejects.toThrow(/not open/);
});

test("a radio link that is lost is told once", async () => {
  const radio = bleWith(new Scripted("both", "indicate", "write"));
  const device = bleDevice(radio);
  const lost: string[] = [];
  await device.open(0, { bytes: () => undefined, lost: (why) => lost.push(why) });
  radio.dispatchEvent(new Event("gattserverdisconnected"));
  radio.dispatchEvent(new Event("gattserverdisconnected"));
  expect(lost).toHaveLength(1);
});

test("a device of another kind is refused with words", async () => {
  const device = bleDevice(bleWith(new Scripted("only tells", "notify")));
  await expect(device.open(0, { bytes: () => undefined, lost: () => undefined })).rejects.toThrow(
    /another kind/,
  );
});

class ScriptedPort extends EventTarget implements SerialPort {
  readable: ReadableStream<Uint8Array> | null = null;
  writable: WritableStream<Uint8Array> | null = null;
  readonly written: number[] = [];
  readonly rates: number[] = [];
  from!: ReadableStreamDefaultController<Uint8Array>;
  open({ baudRate }: { baudRate: number }): Promise<void> {
    this.rates.push(baudRate);
    this.#listen();
    this.writable = new WritableStream({ write: (bytes) => void this.written.push(...bytes) });
    return Promise.resolve();
  }
  close(): Promise<void> {
    if (this.readable?.locked === true || this.writable?.locked === true)
      return Promise.reject(new TypeError("locked"));
    this.readable = null;
    this.writable = null;
    return Promise.resolve();
  }
  getInfo() {
    return { usbVendorId: 0x1a, usbProductId: 0x7523 };
  }
  /** As the standard says: after an error of the line there is a new stream; after the plug was pulled there is none. */
  fail(gone: boolean): void {
    this.from.error(new DOMException(gone ? "The device has been lost." : "FramingError"));
    this.readable = null;
    if (!gone) this.#listen();
  }
  #listen(): void {
    this.readable = new ReadableStream({ start: (controller) => void (this.from = controller) });
  }
}

/** Resolves when a reader waits again. */
async function heardAll(heard: number[], count: number): Promise<void> {
  await expect.poll(() => heard.length).toBe(count);
}

test("a serial port is read on after an error of the line, and lost when it is pulled", async () => {
  const port = new ScriptedPort();
  const device = serialDevice(port);
  expect(device.name).toBe("USB serial port 001a:7523");
  const heard: number[] = [];
  const lost: string[] = [];
  await device.open(38_400, { bytes: (bytes) => heard.push(...bytes), lost: (why) => lost.push(why) });
  expect(port.rates).toEqual([38_400]);
  await device.write(Uint8Array.of(1, 2));
  expect(port.written).toEqual([1, 2]);
  port.from.enqueue(Uint8Array.of(5));
  await heardAll(heard, 1);
  port.fail(false);
  port.from.enqueue(Uint8Array.of(6));
  await heardAll(heard, 2);
  port.fail(true);
  await expect.poll(() => lost.length).toBe(1);
  expect(lost[0]).toMatch(/lost/);
});

test("a port that is closed while a write waits lets go of it, and opens again at another rate", async () => {
  const port = new ScriptedPort();
  const device = serialDevice(port);
  const ears = { bytes: () => undefined, lost: () => undefined };
  await device.open(9600, ears);
  let isWriting: () => void = () => undefined;
  const began = new Promise<void>((resolve) => {
    isWriting = resolve;
  });
  // A device that takes nothing until it is told to stop.
  port.writable = new WritableStream({
    write: (_bytes, { signal }) =>
      new Promise((_resolve, reject) => {
        signal.addEventListener("abort", () => reject(new Error("stopped")));
        isWriting();
      }),
  });
  const writing = device.write(Uint8Array.of(1)).catch((error: unknown) => error);
  await began;
  await device.close();
  expect(await writing).toBeInstanceOf(Error);
  await device.open(115_200, ears);
  expect(port.rates).toEqual([9600, 115_200]);
});
