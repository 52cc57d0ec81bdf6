/** A bench vehicle on the virtual clock with someone typing at its adapter. */
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { attachAdapter, Bench, type AdapterOptions } from "../../adapters/bench/index.ts";
import type { BenchFault } from "../../shared/address.ts";

export interface TypistOptions {
  readonly vehicle: string;
  readonly faults?: readonly BenchFault[];
  readonly seed?: number;
  readonly coldStartC?: number;
  readonly adapter?: AdapterOptions;
}

export class Typist {
  readonly clock = new VirtualClock(undefined, 64);
  readonly bench: Bench;
  heard = "";
  readonly #send: (text: string) => Promise<void>;

  constructor({ vehicle, faults = [], seed = 1, coldStartC = 20, adapter = {} }: TypistOptions) {
    this.bench = new Bench({ vehicle, faults, seed, clock: this.clock, coldStartC });
    const [near, far] = memoryPair("near", "far");
    attachAdapter(this.bench, far, this.clock, adapter);
    near.onBytes((bytes) => {
      this.heard += String.fromCharCode(...bytes);
    });
    this.#send = (text) => near.write(new TextEncoder().encode(text));
  }

  /** Sends characters without waiting. */
  type(text: string): Promise<void> {
    return this.#send(text);
  }

  /** Sends a command and waits for the prompt; everything that came, prompt included. */
  async raw(command: string): Promise<string> {
    this.heard = "";
    await this.#send(`${command}\r`);
    await this.clock.run(() => this.heard.endsWith(">"), 60_000);
    return this.heard;
  }

  /** The lines that answer a command, blank ones and the prompt left out. */
  async ask(command: string): Promise<string[]> {
    return (await this.raw(command))
      .replace(/>$/, "")
      .split(/[\r\n]+/)
      .map((line) => line.trim())
      .filter((line) => line !== "");
  }

  /** The bytes after the module's 41 and the parameter number, from a headers-off answer. */
  async bytes(command: string): Promise<number[]> {
    const line = (await this.ask(command)).find((l) => /^4[0-9A-F]/.test(l)) ?? "";
    return (line.match(/[0-9A-F]{2}/g) ?? []).slice(2).map((two) => Number.parseInt(two, 16));
  }

  async quiet(): Promise<this> {
    for (const command of ["ATZ", "ATE0", "ATL0"]) await this.raw(command);
    return this;
  }

  /** Lets time pass with nobody asking. */
  async wait(seconds: number): Promise<void> {
    await this.clock.pass(seconds * 1000);
    this.bench.catchUp();
  }

  key(to: "off" | "on" | "crank"): void {
    this.bench.act({ act: "key", to });
  }
}
