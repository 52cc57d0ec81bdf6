/** `navigator.bluetooth` and `navigator.serial` of a page, scripted: what it writes and hears goes to an end of a line here. */
import type { Page } from "playwright-core";
import { memoryPair } from "../../adapters/link/index.ts";
import type { ByteEnd } from "../../shared/wire.ts";

export interface ScriptedRadio {
  /** The other side of the device, since it was opened last. */
  readonly far: ByteEnd | null;
}

/** What the page finds beside the scripted devices. */
interface PageSide {
  fromDevice(bytes: number[] | null): void;
}

/**
 * Both kinds of device lead to the same end. Packets of a radio are of 20 bytes and take `delayMs`, drawn from a seed;
 * they stay in order. `onOpen` is told of each opening.
 */
export async function scriptRadio(
  page: Page,
  delayMs: readonly [number, number],
  onOpen: (far: ByteEnd) => void = () => undefined,
): Promise<ScriptedRadio> {
  const state: { near: ByteEnd | null; far: ByteEnd | null } = { near: null, far: null };
  let turn: Promise<unknown> = Promise.resolve();
  const tell = (bytes: number[] | null): void => {
    turn = turn
      .then(() => page.evaluate((said) => (globalThis as unknown as PageSide).fromDevice(said), bytes))
      // What is said while the page is loaded anew is lost; what is said later is not.
      .catch(() => undefined);
  };
  await page.exposeFunction("deviceOpened", () => {
    const [near, far] = memoryPair("radio", "device");
    state.near = near;
    state.far = far;
    near.onBytes((bytes) => tell([...bytes]));
    near.onClose((why) => {
      if (why !== null && state.near === near) tell(null);
    });
    onOpen(far);
  });
  await page.exposeFunction("toDevice", (bytes: number[]) => state.near?.write(Uint8Array.from(bytes)));
  await page.exposeFunction("deviceClosed", () => state.near?.close());
  await page.addInitScript(scripted, delayMs);
  return {
    get far() {
      return state.far;
    },
  };
}

/** Runs in the page, before anything of it. */
function scripted([least, most]: readonly [number, number]): void {
  const side = globalThis as unknown as PageSide & {
    deviceOpened(): Promise<void>;
    toDevice(bytes: number[]): Promise<void>;
    deviceClosed(): Promise<void>;
    readonly navigator: object;
    readonly sessionStorage: {
      getItem(key: string): string | null;
      setItem(key: string, value: string): void;
    };
  };
  const { navigator, sessionStorage } = side;
  let drawn = 1;
  const delay = (): Promise<void> => {
    drawn = (drawn * 1103515245 + 12345) % 2147483648;
    const ms = least + (drawn / 2147483648) * (most - least);
    return ms === 0
      ? Promise.resolve()
      : new Promise((resolve) => {
          setTimeout(resolve, ms);
        });
  };
  let said: (bytes: Uint8Array) => void = () => undefined;
  let lost: () => void = () => undefined;
  let heard: Promise<void> = Promise.resolve();
  side.fromDevice = (bytes) => {
    heard = heard.then(async () => {
      if (bytes === null) return lost();
      for (let at = 0; at < bytes.length; at += 20) {
        await delay();
        said(Uint8Array.from(bytes.slice(at, at + 20)));
      }
    });
  };

  const characteristic = Object.assign(new EventTarget(), {
    uuid: "0000ffe1-0000-1000-8000-00805f9b34fb",
    properties: { notify: true, indicate: false, write: false, writeWithoutResponse: true },
    value: undefined as DataView | undefined,
    startNotifications: () => Promise.resolve(),
    writeValueWithoutResponse: async (bytes: Uint8Array) => {
      if (bytes.length > 20) throw new Error("longer than a packet");
      const copy = [...bytes];
      await delay();
      await side.toDevice(copy);
    },
  });
  const device = Object.assign(new EventTarget(), {
    name: "scripted radio",
    gatt: {
      connect: async () => {
        said = (bytes) => {
          characteristic.value = new DataView(bytes.buffer);
          characteristic.dispatchEvent(new Event("characteristicvaluechanged"));
        };
        lost = () => device.dispatchEvent(new Event("gattserverdisconnected"));
        await side.deviceOpened();
        return {
          getPrimaryServices: () =>
            Promise.resolve([
              {
                uuid: "0000ffe0-0000-1000-8000-00805f9b34fb",
                getCharacteristics: () => Promise.resolve([characteristic]),
              },
            ]),
        };
      },
      disconnect: () => void side.deviceClosed(),
    },
  });

  const port = Object.assign(new EventTarget(), {
    readable: null as ReadableStream<Uint8Array> | null,
    writable: null as WritableStream<Uint8Array> | null,
    getInfo: () => ({}),
    async open() {
      port.readable = new ReadableStream({
        start(controller) {
          said = (bytes) => controller.enqueue(bytes);
          lost = () => {
            port.readable = null;
            controller.error(new DOMException("The device has been lost."));
          };
        },
      });
      port.writable = new WritableStream({ write: (bytes) => side.toDevice([...bytes]) });
      await side.deviceOpened();
    },
    async close() {
      port.readable = null;
      port.writable = null;
      await side.deviceClosed();
    },
  });

  // A port that was let to this page once is there after a reload, too.
  Object.defineProperty(navigator, "bluetooth", { value: { requestDevice: () => Promise.resolve(device) } });
  Object.defineProperty(navigator, "serial", {
    value: {
      requestPort: () => {
        sessionStorage.setItem("scripted-port", "let");
        return Promise.resolve(port);
      },
      getPorts: () => Promise.resolve(sessionStorage.getItem("scripted-port") === null ? [] : [port]),
    },
  });
}
