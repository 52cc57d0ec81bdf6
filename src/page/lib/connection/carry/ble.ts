import { piecesOf, type BrowserDevice, type DeviceEars } from "./device.ts";

/**
 * The parts of Web Bluetooth (W3C community group report, "Web Bluetooth") that are used here; TypeScript's own
 * library does not have them.
 */
interface Characteristic extends EventTarget {
  readonly uuid: string;
  readonly properties: {
    readonly notify: boolean;
    readonly indicate: boolean;
    readonly write: boolean;
    readonly writeWithoutResponse: boolean;
  };
  readonly value?: DataView;
  startNotifications(): Promise<unknown>;
  writeValueWithResponse(bytes: Uint8Array): Promise<void>;
  writeValueWithoutResponse(bytes: Uint8Array): Promise<void>;
}
interface Service {
  readonly uuid: string;
  getCharacteristics(): Promise<readonly Characteristic[]>;
}
interface Gatt {
  connect(): Promise<{ getPrimaryServices(): Promise<readonly Service[]> }>;
  disconnect(): void;
}
export interface BleDevice extends EventTarget {
  readonly name?: string;
  readonly gatt?: Gatt;
}
export interface Bluetooth {
  requestDevice(options: {
    readonly acceptAllDevices: true;
    readonly optionalServices: readonly string[];
  }): Promise<BleDevice>;
}

/** A 16-bit number in its full form (Bluetooth Core, volume 3, part B, 2.5.1). */
function full(short: string): string {
  return `0000${short}-0000-1000-8000-00805f9b34fb`;
}

/**
 * Services that carry a serial line in adapters and radio modules, the usual ones first; from memory. A browser lets
 * a page see only services that it named beforehand.
 */
export const serialServices: readonly string[] = [
  full("ffe0"),
  full("fff0"),
  full("18f0"),
  full("ff00"),
  "6e400001-b5a3-f393-e0a9-e50e24dcca9e",
  "49535343-fe7d-4ae5-8fa9-9fafd205e455",
  "e7810a71-73ae-499d-8c15-faa9aef0c3f2",
];

/** Every device takes so many bytes at once: the smallest packet, 23, less 3 of its own (Bluetooth Core, volume 3, part F, 3.2.8). */
export const pieceBytes = 20;

/** A pair of characteristics that a serial line goes through. */
export interface SerialPair {
  readonly from: Characteristic;
  readonly to: Characteristic;
}

const tells = ({ properties: p }: Characteristic): boolean => p.notify || p.indicate;
const takes = ({ properties: p }: Characteristic): boolean => p.write || p.writeWithoutResponse;

/**
 * Finds, by looking, a service with one characteristic that tells and one that takes; they may be the same one. The
 * usual services are looked at first. null when there is none.
 */
export async function serialPairOf(services: readonly Service[]): Promise<SerialPair | null> {
  const rank = ({ uuid }: Service): number => {
    const place = serialServices.indexOf(uuid.toLowerCase());
    return place < 0 ? serialServices.length : place;
  };
  for (const service of [...services].sort((a, b) => rank(a) - rank(b))) {
    const all = await service.getCharacteristics();
    const from = all.find(tells);
    // One that only takes is meant for it; one that does both may be an echo of the line.
    const to = all.find((one) => takes(one) && !tells(one)) ?? all.find(takes);
    if (from !== undefined && to !== undefined) return { from, to };
  }
  return null;
}

export function bleDevice(device: BleDevice): BrowserDevice {
  let pair: SerialPair | null = null;
  let letGo: () => void = () => undefined;
  const isClosed = (): boolean => pair === null;
  const open = async (ears: DeviceEars): Promise<void> => {
    const { gatt } = device;
    if (gatt === undefined) throw new Error("this device has no services that a page may use");
    const server = await gatt.connect();
    const found = await serialPairOf(await server.getPrimaryServices());
    if (found === null) {
      gatt.disconnect();
      throw new Error("none of its services carries a serial line: it is another kind of device");
    }
    const onValue = (): void => {
      const { value } = found.from;
      if (value !== undefined)
        ears.bytes(new Uint8Array(value.buffer, value.byteOffset, value.byteLength).slice());
    };
    const onGone = (): void => {
      letGo();
      ears.lost("the radio link to it was lost");
    };
    letGo = () => {
      found.from.removeEventListener("characteristicvaluechanged", onValue);
      device.removeEventListener("gattserverdisconnected", onGone);
      pair = null;
    };
    found.from.addEventListener("characteristicvaluechanged", onValue);
    device.addEventListener("gattserverdisconnected", onGone);
    await found.from.startNotifications();
    pair = found;
  };
  return {
    way: "ble",
    name: device.name ?? "a device without a name",
    open: (_baud, ears) => open(ears),
    async write(bytes) {
      if (pair === null) throw new Error("it is not open");
      const { to } = pair;
      for (const piece of piecesOf(bytes, pieceBytes)) {
        if (isClosed()) throw new Error("it was closed meanwhile");
        await (to.properties.writeWithoutResponse
          ? to.writeValueWithoutResponse(piece)
          : to.writeValueWithResponse(piece));
      }
    },
    close() {
      letGo();
      device.gatt?.disconnect();
      return Promise.resolve();
    },
  };
}

/** Asks the person to choose; rejects when they close the choice. */
export async function chooseBle(bluetooth: Bluetooth): Promise<BrowserDevice> {
  return bleDevice(
    await bluetooth.requestDevice({ acceptAllDevices: true, optionalServices: serialServices }),
  );
}
