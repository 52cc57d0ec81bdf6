/**
 * A hostile line: an adapter with an invented vehicle behind it, whose every answer is a number drawn anew, and a line that
 * stalls, drops, doubles, inserts and changes bytes, and puts a prompt where none belongs. What was sent in answer to what
 * is kept, so that every value that is drawn can be compared with it. It shares no code with the program, nor with the
 * bench vehicle.
 */
import { memoryPair } from "../../adapters/link/memory.ts";
import type { Clock } from "../../shared/clock.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import type { Chance } from "../reliability/mutate.ts";

export const hostileFaults = [
  /** The line stops inside a reply for up to five seconds, then the rest comes. */
  "stall",
  /** A sign of the prompt anywhere in a reply. */
  "prompt",
  /** Bytes are lost. */
  "lose",
  /** Bytes come twice. */
  "double",
  /** Bytes come in that nobody sent. */
  "insert",
  /** Bytes are changed. Where nothing sums them up, nobody can know. */
  "change",
  /** A whole reply, or its prompt alone, is lost. */
  "swallow",
  /** A whole reply comes twice. */
  "twice",
  /** A reply comes up to five seconds late. */
  "late",
  /** Somebody else's message stands inside a reply, or something is said that nobody asked for. */
  "foreign",
  /** The adapter begins anew by itself. */
  "reset",
  /** Error words and damage marks instead of, behind and in front of data. */
  "words",
] as const;
export type HostileFault = (typeof hostileFaults)[number];

/** One command as the adapter took it, and what it answered. */
export interface Told {
  /** Which write of ours brought its carriage return. */
  readonly write: number;
  readonly command: string;
  /** Value by channel, in the units of the program's tables. */
  readonly values: Map<string, readonly number[]>;
  /** A byte of the reply was changed for another on the way, so that its length tells nothing. */
  changed: boolean;
}

export interface HostileOptions {
  readonly clock: Clock;
  readonly chance: Chance;
  readonly faults: readonly HostileFault[];
  /** How often a reply is spoilt, from 0 to 1. */
  readonly share: number;
  /** From a command to its answer and back, milliseconds. */
  readonly lagMs?: number;
}

type Row = readonly [pid: number, bytes: number, channel: string, value: (a: number, b: number) => number];

/** SAE J1979 by its published scalings, written down here once more. */
const rows: readonly Row[] = [
  [0x04, 1, "load", (a) => (a * 100) / 255],
  [0x05, 1, "coolant", (a) => a - 40],
  [0x0b, 1, "manifold", (a) => a],
  [0x0c, 2, "engine-speed", (a, b) => (256 * a + b) / 4],
  [0x0d, 1, "vehicle-speed", (a) => a],
  [0x0f, 1, "intake-air", (a) => a - 40],
  [0x10, 2, "air-flow", (a, b) => (256 * a + b) / 100],
  [0x11, 1, "throttle", (a) => (a * 100) / 255],
];
const rowOf = new Map(rows.map((row) => [row[0], row]));
export const hostileChannels: readonly string[] = ["socket-voltage", ...rows.map(([, , channel]) => channel)];

const words = ["NO DATA", "STOPPED", "BUFFER FULL", "<DATA ERROR", "<RX ERROR", "CAN ERROR", "?", "BUS BUSY"];
const identity = "ELM327 v1.5";

export class HostileAdapter {
  readonly told: Told[] = [];
  /** Requests that went to the bus, as the adapter understood them. */
  readonly bus: string[] = [];
  /** Faults that were put on the line. */
  spoilt = 0;
  /** Nothing is spoilt while the first set-up runs. */
  quiet = true;
  readonly #options: HostileOptions;
  #end: ByteEnd | null = null;
  #writes = -1;
  #typed = "";
  #last = "";
  #stop: (() => void) | null = null;
  #set = { echo: true, linefeeds: true, spaces: true, headers: false, protocol: 0 };
  #volts = 12.6;
  /** Not before this does the line carry anything on. */
  #clearMs = 0;

  constructor(options: HostileOptions) {
    this.#options = options;
  }

  open(): Promise<ByteEnd> {
    const [ours, theirs] = memoryPair("tcp:hostile:1", "hostile");
    this.#end = theirs;
    const { clock, lagMs = 0 } = this.#options;
    theirs.onBytes((bytes) => {
      this.#writes += 1;
      const write = this.#writes;
      if (lagMs === 0) this.#hear(bytes, write);
      else clock.after(lagMs / 2, () => this.#hear(bytes, write));
    });
    return Promise.resolve(ours);
  }

  #hear(bytes: Uint8Array, write: number): void {
    for (const byte of bytes) {
      const character = String.fromCharCode(byte);
      if (this.#stop !== null) {
        // Busy: what runs is broken off, and the character is lost.
        this.#stop();
        this.#stop = null;
        this.#typed = "";
        this.#say("STOPPED\r\r>", null);
        continue;
      }
      if (this.#set.echo) this.#say(character, null);
      if (character !== "\r") {
        this.#typed += character;
        continue;
      }
      const command = this.#typed === "" ? this.#last : this.#typed;
      this.#typed = "";
      this.#last = command;
      this.#run(command, write);
    }
  }

  #run(command: string, write: number): void {
    const { chance, clock } = this.#options;
    const values = new Map<string, readonly number[]>();
    const told: Told = { write, command, values, changed: false };
    this.told.push(told);
    const { lines, afterMs } = command.startsWith("AT")
      ? this.#adapter(command, values)
      : this.#vehicle(command, values);
    const eol = this.#set.linefeeds ? "\r\n" : "\r";
    const text = `${lines.map((line) => line + eol).join("")}${eol}>`;
    this.#stop = clock.after(afterMs, () => {
      this.#stop = null;
      if (this.#now("reset")) this.#beginAnew();
      else this.#say(text, told);
      if (this.#now("twice")) this.#say(text, told);
      if (this.#now("foreign"))
        this.#say(chance.of(["ACT ALERT\r", "LP ALERT\r", "7E804410C1234\r", "\r>"]), null);
    });
  }

  #now(fault: HostileFault): boolean {
    const { chance, faults, share } = this.#options;
    if (this.quiet || !faults.includes(fault) || chance.next() >= share / faults.length) return false;
    this.spoilt += 1;
    return true;
  }

  #beginAnew(): void {
    this.#set = { echo: true, linefeeds: true, spaces: true, headers: false, protocol: 0 };
    this.#typed = "";
    this.#say(`${this.#options.chance.of(["", "LV RESET\r\r"])}\r\r${identity}\r\r>`, null);
  }

  #adapter(command: string, values: Map<string, readonly number[]>): { lines: string[]; afterMs: number } {
    const { chance } = this.#options;
    const [, name = "", value = ""] = /^AT([A-Z]+?)([0-9A-F]*)$/.exec(command) ?? [];
    const ok = { lines: ["OK"], afterMs: 2 };
    switch (name) {
      case "Z":
      case "WS":
        this.#set = { echo: true, linefeeds: true, spaces: true, headers: false, protocol: 0 };
        return { lines: ["", identity], afterMs: name === "Z" ? 800 : 60 };
      case "I":
        return { lines: [identity], afterMs: 2 };
      case "E":
        this.#set.echo = value === "1";
        return ok;
      case "L":
        this.#set.linefeeds = value === "1";
        return ok;
      case "S":
        this.#set.spaces = value === "1";
        return ok;
      case "H":
        this.#set.headers = value === "1";
        return ok;
      case "SP":
        this.#set.protocol = Number(value);
        return ok;
      case "AT":
      case "ST":
        return ok;
      case "DPN":
        return { lines: [this.#set.protocol === 0 ? "A6" : "6"], afterMs: 2 };
      case "RV": {
        // Any supply of 12 V, at rest, charged, and while cranking; no faster than a battery goes.
        this.#volts = Math.min(15.9, Math.max(8, this.#volts + (chance.next() - 0.5) * 4));
        const text = this.#volts.toFixed(1);
        values.set("socket-voltage", [Number(text)]);
        return { lines: [`${text}V`], afterMs: 3 };
      }
      default:
        return { lines: ["?"], afterMs: 1 };
    }
  }

  #vehicle(command: string, values: Map<string, readonly number[]>): { lines: string[]; afterMs: number } {
    const { chance } = this.#options;
    const isHex = /^[0-9A-F]{2,}$/.test(command);
    if (!isHex) return { lines: ["?"], afterMs: 1 };
    this.bus.push(command);
    const request = command.length % 2 === 0 ? command : command.slice(0, -1);
    const afterMs = 8 + chance.below(30);
    if (this.#set.protocol !== 6 && this.#set.protocol !== 0) return { lines: ["NO DATA"], afterMs: 100 };
    if (request === "0100") return { lines: this.#frames("7E8", `4100${mapOf(0)}`), afterMs };
    if (request.startsWith("01")) {
      const pids = (request.slice(2).match(/../g) ?? []).map((two) => parseInt(two, 16));
      const parts = pids.flatMap((pid) => {
        const row = rowOf.get(pid);
        if (row === undefined) return [];
        const [, bytes, channel, value] = row;
        const [a, b] = [chance.below(256), chance.below(256)];
        values.set(channel, [...(values.get(channel) ?? []), value(a, b)]);
        return [hex(pid) + hex(a) + (bytes === 2 ? hex(b) : "")];
      });
      if (parts.length > 0) return { lines: this.#frames("7E8", `41${parts.join("")}`), afterMs };
    }
    return { lines: ["NO DATA"], afterMs: 100 };
  }

  #frames(address: string, payload: string): string[] {
    const { chance } = this.#options;
    const padding = chance.of(["00", "AA", "55"]);
    const pad = (data: string): string => data + padding.repeat(8 - data.length / 2);
    const bytes = payload.length / 2;
    const frames = bytes <= 7 ? [pad(`${hex(bytes)}${payload}`)] : [`10${hex(bytes)}${payload.slice(0, 12)}`];
    for (let at = 12, number = 1; bytes > 7 && at < payload.length; at += 14, number++)
      frames.push(pad(`2${number.toString(16).toUpperCase()}${payload.slice(at, at + 14)}`));
    const { spaces, headers } = this.#set;
    const spaced = (data: string): string => (spaces ? (data.match(/../g) ?? []).join(" ") : data);
    return frames.map((frame) => `${headers ? address + (spaces ? " " : "") : ""}${spaced(frame)}`);
  }

  /** Puts it on the line, spoilt or not. `of`: whose reply it is. */
  #say(text: string, of: Told | null): void {
    const { chance, lagMs = 0 } = this.#options;
    let out = text;
    const at = (): number => chance.below(out.length);
    const spoil = (fault: HostileFault, how: (i: number) => string): void => {
      if (of !== null && out !== "" && this.#now(fault)) out = how(at());
    };
    spoil("prompt", (i) => `${out.slice(0, i)}>${out.slice(i)}`);
    spoil("lose", (i) => out.slice(0, i) + out.slice(i + 1 + chance.below(3)));
    spoil("double", (i) => out.slice(0, i + 1 + chance.below(2)) + out.slice(i));
    spoil("insert", (i) => out.slice(0, i) + String.fromCharCode(chance.below(256)) + out.slice(i));
    spoil("words", (i) =>
      chance.of([`${out.slice(0, i)}${chance.of(words)}\r\r>`, `${chance.of(words)}\r${out}`]),
    );
    spoil("foreign", (i) => {
      const line = chance.of([
        "7EA04410C2345",
        "7E8037F0112",
        "7E906410012345678",
        "7E803411F22",
        "ACT ALERT",
      ]);
      // Another module that answers is heard as such.
      if (line.startsWith("7EA"))
        of?.values.set("engine-speed", [...(of.values.get("engine-speed") ?? []), 2257.25]);
      const lineAt = out.indexOf("\r", i) + 1;
      return `${out.slice(0, lineAt)}${line}\r${out.slice(lineAt)}`;
    });
    spoil("swallow", () => (chance.next() < 0.5 ? "" : out.replace(">", "")));
    spoil("change", (i) => {
      if (of !== null) of.changed = true;
      return out.slice(0, i) + String.fromCharCode(chance.below(256)) + out.slice(i + 1);
    });
    if (of !== null && this.#now("late")) this.#hold();
    if (out.length > 1 && of !== null && this.#now("stall")) {
      const i = 1 + chance.below(out.length - 1);
      this.#carry(out.slice(0, i), lagMs / 2);
      this.#hold();
      out = out.slice(i);
    }
    this.#carry(out, lagMs / 2);
  }

  /** Nothing is carried on for a while. */
  #hold(): void {
    const { clock, chance } = this.#options;
    this.#clearMs = Math.max(this.#clearMs, clock.now() + 200 + chance.below(5000));
  }

  /** In order, whatever stands in the way. */
  #carry(text: string, lagMs: number): void {
    if (text === "") return;
    const { clock } = this.#options;
    const end = this.#end;
    const bytes = Uint8Array.from(text, (c) => c.charCodeAt(0));
    const due = Math.max(clock.now() + lagMs, this.#clearMs);
    this.#clearMs = due;
    clock.after(due - clock.now(), () => {
      // Whoever hung up hears it no more.
      end?.write(bytes).catch(() => undefined);
    });
  }
}

function mapOf(base: number): string {
  let bits = 0;
  for (const [pid] of rows) if (pid > base && pid <= base + 0x20) bits |= 1 << (31 - (pid - base - 1));
  return (bits >>> 0).toString(16).toUpperCase().padStart(8, "0");
}

function hex(byte: number): string {
  return byte.toString(16).toUpperCase().padStart(2, "0");
}
