import { carryClosings, type CarriedWay } from "../../../../../shared/carried.ts";
import type { Clock } from "../../../../../shared/clock.ts";
import { isCranksideError, messageOf } from "../../../../../shared/errors.ts";
import { Socket } from "../socket.ts";
import { chooseBle, type Bluetooth } from "./ble.ts";
import type { BrowserDevice } from "./device.ts";
import { CarriedLine } from "./line.ts";
import { chooseSerial, serialDevice, type Serial } from "./serial.ts";

/** What a browser may offer; Chromium's do on this machine's own address. */
export interface Reach {
  readonly bluetooth?: Bluetooth;
  readonly serial?: Serial;
}

/** The adapter that this page's browser reaches, chosen by the person, and its line to the server. */
export class Carry {
  readonly #url: string;
  readonly #clock: Clock;
  readonly #reach: Reach;
  #device: BrowserDevice | null = $state.raw(null);
  #doing = $state("");
  #trouble: string | null = $state(null);
  #socket: Socket | null = null;
  #line: CarriedLine | null = null;

  constructor(url: string, clock: Clock, reach: Reach) {
    this.#url = url;
    this.#clock = clock;
    this.#reach = reach;
  }

  can(way: CarriedWay): boolean {
    return (way === "ble" ? this.#reach.bluetooth : this.#reach.serial) !== undefined;
  }

  get way(): CarriedWay | null {
    return this.#device?.way ?? null;
  }

  get name(): string {
    return this.#device?.name ?? "";
  }

  /** What the device is doing, in words. */
  get doing(): string {
    return this.#doing;
  }

  /** Why there is no device, in words; null when nothing went wrong. */
  get trouble(): string | null {
    return this.#trouble;
  }

  /** Has to be called from a press of a key or a button: the browser asks the person which device. */
  async choose(way: CarriedWay): Promise<void> {
    this.#trouble = null;
    const { bluetooth, serial } = this.#reach;
    try {
      if (way === "ble" && bluetooth !== undefined) await this.#carry(await chooseBle(bluetooth));
      if (way === "serial" && serial !== undefined) await this.#carry(await chooseSerial(serial));
    } catch (error) {
      // Closing the browser's list without a choice is no failure.
      if (!(error instanceof DOMException && error.name === "NotFoundError"))
        this.#trouble = messageOf(error);
    }
  }

  /** Carries on after a reload with the port that the person let this page have before, if the server still hears it. */
  async resume(address: string | null): Promise<void> {
    const { serial } = this.#reach;
    if (this.#device !== null || serial === undefined || address?.startsWith("browser:serial") !== true)
      return;
    const [port] = await serial.getPorts();
    if (port !== undefined) await this.#carry(serialDevice(port));
  }

  #order(line: CarriedLine, text: string): void {
    try {
      line.order(text);
    } catch (error) {
      if (!isCranksideError(error, "message-invalid")) throw error;
      this.#trouble = messageOf(error);
    }
  }

  async #carry(device: BrowserDevice): Promise<void> {
    this.#socket?.close();
    await this.#line?.end();
    const line = new CarriedLine(
      device,
      (data) => this.#socket?.send(data) ?? false,
      (doing) => (this.#doing = doing),
    );
    this.#device = device;
    this.#line = line;
    this.#doing = "chosen, not in use";
    this.#socket = new Socket(this.#url, this.#clock, {
      opened: () => line.begin(),
      text: (text) => this.#order(line, text),
      bytes: (bytes) => line.bytes(bytes),
      gone: (code) => {
        void line.end();
        if (code !== carryClosings.taken && code !== carryClosings.notOurs) return;
        this.#socket?.close();
        this.#device = null;
        this.#trouble =
          code === carryClosings.taken
            ? "another tab of this browser carries such an adapter: use it there, or close that tab"
            : "page and program are not of one version: load the page anew";
      },
    });
  }
}
