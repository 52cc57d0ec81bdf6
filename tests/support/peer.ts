/**
 * The other end of the line for tests of the dialogue: a scripted adapter with an invented vehicle behind it.
 * It knows just enough to be talked to and can be broken by name; it records what it received. It shares no code
 * with the program or with the bench vehicle.
 */
import { memoryPair } from "../../adapters/link/memory.ts";
import { ratedPair } from "../../adapters/link/rated.ts";
import type { Clock } from "../../shared/clock.ts";
import type { ByteEnd } from "../../shared/wire.ts";

/** Each can be switched on and off at any time. */
export type PeerFault =
  /** Echo stays on whatever is commanded. */
  | "echo"
  | "linefeeds"
  | "spaces"
  /** Bytes come one by one, a millisecond apart. */
  | "split"
  /** Every reply comes 700 ms late. */
  | "slow"
  /** Unreadable bytes before each reply. */
  | "garbage"
  /** Nothing at all comes back. */
  | "silence"
  /** The adapter works, the vehicle is not there. */
  | "unplugged"
  /** One byte in 47 of what it says is lost. */
  | "lossy"
  /** Replies come without a prompt. */
  | "no-prompt"
  /** Every reply is sent twice. */
  | "doubled"
  /** The reply to a request ends in the middle, with a prompt. */
  | "cut-reply"
  /** A module asks for more time (7F xx 78) first, as a reply of its own. */
  | "pending"
  | "bus-error"
  | "buffer-full"
  /** The start sequence of the bus is told only when it is over. */
  | "mute-start";

export interface PeerModule {
  /** `7E8` on CAN, `10` elsewhere. */
  readonly address: string;
  /** Request without reply count -> payloads (`410C1AF8`); several are several messages. */
  readonly replies: Readonly<Record<string, string | readonly string[]>>;
  /** Milliseconds from request to reply. */
  readonly respondsMs?: number;
}

export interface PeerOptions {
  readonly clock: Clock;
  /** The adapter's number of the vehicle's protocol: 6 is CAN 11/500, 3 is ISO 9141-2. Default 6. */
  readonly protocol?: number;
  readonly modules?: readonly PeerModule[];
  readonly identity?: string;
  readonly volts?: string;
  /** Commands answered with a question mark; `count` stands for the reply count, `several` for many parameters. */
  readonly refuses?: readonly string[];
  /** How long the adapter waits for further replies, milliseconds. Default 100. */
  readonly waitsMs?: number;
  /** Restart after a reset. Default 800. */
  readonly restartMs?: number;
  readonly faults?: readonly PeerFault[];
  /** Modules refuse a request for more parameters than this with 7F 01 12. */
  readonly mostParameters?: number;
  /** Its own rate, on a line that has one: then it knows the command for a faster one. */
  readonly baud?: number;
}

export class Peer {
  /** Commands in the order received, without carriage returns. */
  readonly received: string[] = [];
  /** The same with their time on the clock. */
  readonly log: { readonly at: number; readonly command: string }[] = [];
  /** Every byte that came, whatever the adapter made of it. */
  raw = "";
  readonly faults: Set<PeerFault>;
  modules: readonly PeerModule[];
  volts: string;
  opened = 0;
  /** The present rate of its line. */
  rate: number | undefined;
  /** Settings as they stand. */
  readonly set = { echo: true, linefeeds: true, spaces: true, headers: false, protocol: 0, active: 0 };
  readonly #options: PeerOptions;
  readonly #clock: Clock;
  #end: ByteEnd | null = null;
  #input = "";
  #last = "";
  #busyUntil: (() => void) | null = null;
  /** A start sequence or a search runs; broken off, the bus is not open. */
  #waking = false;
  #asleep = false;
  /** At another rate: hears a carriage return only, and goes back without it. */
  #confirm: (() => void) | null = null;
  #said = 0;

  constructor(options: PeerOptions) {
    this.#options = options;
    this.#clock = options.clock;
    this.faults = new Set(options.faults);
    this.modules = options.modules ?? [];
    this.volts = options.volts ?? "12.4V";
  }

  /** Plugs in; what was plugged in before is forgotten. `baud`: at which the other side opens the line. */
  async open(name = "tcp:peer:1", baud?: number): Promise<ByteEnd> {
    this.opened += 1;
    this.#input = "";
    this.#busyUntil?.();
    this.#busyUntil = null;
    const rate = this.rate ?? this.#options.baud;
    const [ours, theirs] = rate === undefined ? memoryPair(name, "peer") : ratedPair(name, "peer", rate);
    if (baud !== undefined) await ours.setBaud?.(baud);
    this.#end = theirs;
    theirs.onBytes((bytes) => {
      if (this.#end === theirs) this.#take(String.fromCharCode(...bytes));
    });
    return ours;
  }

  #setRate(baud: number | undefined): void {
    this.rate = baud;
    if (baud !== undefined) void this.#end?.setBaud?.(baud);
  }

  /** The plug is pulled: the line goes away. */
  async pull(): Promise<void> {
    this.#busyUntil?.();
    this.#busyUntil = null;
    const end = this.#end;
    this.#end = null;
    await end?.close();
  }

  /** Something said without being asked. */
  say(text: string): void {
    const bytes = Uint8Array.from(text, (c) => c.charCodeAt(0));
    const left = this.faults.has("lossy") ? bytes.filter(() => (this.#said += 1) % 47 !== 0) : bytes;
    // Whoever hung up hears it no more.
    this.#end?.write(left).catch(() => undefined);
  }

  /** The supply dips: what runs is broken off, settings are lost, and it introduces itself when it is back. */
  dip(forMs: number, word: "LV RESET" | "identity" = "identity"): void {
    this.#busyUntil?.();
    this.#busyUntil = null;
    this.#input = "";
    this.#last = "";
    this.#asleep = true;
    this.#waking = false;
    if (word === "LV RESET") this.say("41 0C\rLV RESET\r");
    this.#confirm = null;
    this.#clock.after(forMs, () => {
      this.#asleep = false;
      this.#setRate(this.#options.baud);
      this.#defaults();
      this.say(`\r\r${this.#identity}\r\r>`);
    });
  }

  get #identity(): string {
    return this.#options.identity ?? "ELM327 v1.5";
  }

  #defaults(): void {
    Object.assign(this.set, {
      echo: true,
      linefeeds: true,
      spaces: true,
      headers: false,
      protocol: 0,
      active: 0,
    });
  }

  #take(text: string): void {
    this.raw += text;
    if (this.faults.has("silence") || this.#asleep) return;
    for (const character of text) {
      if (this.#confirm !== null) {
        if (character === "\r") this.#confirm();
        continue;
      }
      if (this.#busyUntil !== null) {
        this.#busyUntil();
        this.#busyUntil = null;
        this.#input = "";
        if (this.#waking) this.set.active = 0;
        this.#waking = false;
        this.#send(["STOPPED"]);
        continue;
      }
      if (this.set.echo || this.faults.has("echo")) this.say(character);
      if (character !== "\r") {
        this.#input += character;
        continue;
      }
      const command = this.#input === "" ? this.#last : this.#input;
      this.received.push(this.#input);
      this.log.push({ at: this.#clock.now(), command: this.#input });
      this.#input = "";
      this.#last = command;
      this.#run(command);
    }
  }

  #run(command: string): void {
    const divisor = /^ATBRD([0-9A-F]{2})$/.exec(command)?.[1];
    if (divisor !== undefined && this.#options.baud !== undefined) {
      this.#offer(4_000_000 / parseInt(divisor, 16));
      return;
    }
    const { after, lines } = this.#answer(command);
    // A start sequence is told as it begins, so that nobody takes it for silence (from memory).
    const begun = "BUS INIT: ";
    if (lines[0]?.startsWith(begun) === true && !this.faults.has("mute-start")) {
      this.say(begun);
      lines.splice(0, 1, lines[0].slice(begun.length));
    }
    const cancel = this.#clock.after(after + (this.faults.has("slow") ? 700 : 0), () => {
      this.#busyUntil = null;
      this.#waking = false;
      this.#send(lines);
    });
    this.#busyUntil = cancel;
  }

  #offer(baud: number): void {
    const before = this.rate ?? this.#options.baud;
    this.say("OK\r");
    this.#setRate(baud);
    this.say(`${this.#identity}\r`);
    const end = (lines: readonly string[]): void => {
      this.#confirm = null;
      cancel();
      this.#send(lines);
    };
    const cancel = this.#clock.after(140, () => {
      this.#setRate(before);
      end([]);
    });
    this.#confirm = () => end(["OK"]);
  }

  #answer(command: string): Answer {
    const refuses = this.#options.refuses ?? [];
    if (command === "") return { after: 1, lines: [] };
    const known = command.startsWith("AT") || /^[0-9A-F]+$/.test(command);
    if (!known || refuses.includes(command)) return { after: 1, lines: ["?"] };
    return command.startsWith("AT") ? this.#adapter(command) : this.#vehicle(command);
  }

  #adapter(command: string): Answer {
    const [, name = "", value = ""] = /^AT([A-Z]+?)([0-9A-F]*)$/.exec(command) ?? [];
    const ok: Answer = { after: 2, lines: ["OK"] };
    switch (name) {
      case "Z":
      case "WS":
        if (name === "Z") this.#setRate(this.#options.baud);
        this.#defaults();
        return { after: name === "Z" ? (this.#options.restartMs ?? 800) : 50, lines: ["", this.#identity] };
      case "I":
        return { after: 2, lines: [this.#identity] };
      case "E":
        this.set.echo = value === "1";
        return ok;
      case "L":
        this.set.linefeeds = value === "1";
        return ok;
      case "S":
        this.set.spaces = value === "1";
        return ok;
      case "H":
        this.set.headers = value === "1";
        return ok;
      case "AT":
      case "ST":
      case "BRT":
        return ok;
      case "SH":
        return ok;
      case "SP":
        this.set.protocol = Number(value);
        this.set.active = 0;
        return ok;
      case "DPN":
        return { after: 2, lines: [`${this.set.protocol === 0 ? "A" : ""}${this.set.active}`] };
      case "RV":
        return { after: 2, lines: [this.volts] };
      default:
        return { after: 2, lines: ["?"] };
    }
  }

  #vehicle(command: string): Answer {
    const number = this.#options.protocol ?? 6;
    const { count, request } = splitCount(command);
    const refuses = this.#options.refuses ?? [];
    if (count !== null && refuses.includes("count")) return { after: 1, lines: ["?"] };
    const waits = this.#options.waitsMs ?? 100;
    if (this.faults.has("bus-error")) return { after: 30, lines: ["BUS ERROR"] };
    if (this.faults.has("unplugged")) {
      return this.set.protocol === 0
        ? { after: 4000, lines: ["SEARCHING...", "UNABLE TO CONNECT"] }
        : { after: waits, lines: ["NO DATA"] };
    }
    if (this.set.protocol !== 0 && this.set.protocol !== number) return { after: waits, lines: ["NO DATA"] };
    const { opening, wakesMs } = this.#wake(number);
    const { mostParameters = 6 } = this.#options;
    const tooMany = request.startsWith("01") && request.length / 2 - 1 > mostParameters;
    const answers = this.modules
      .map((module) => ({
        module,
        payloads: tooMany ? ["7F0112"] : payloadsOf(module, request, refuses.includes("several")),
      }))
      .filter(({ payloads }) => payloads.length > 0);
    const lines = answers.flatMap(({ module, payloads }) =>
      payloads.flatMap((payload) => this.#frames(module.address, payload, number)),
    );
    const [first] = answers;
    if (this.faults.has("pending") && first !== undefined) {
      lines.unshift(...this.#frames(first.module.address, `7F${request.slice(0, 2)}78`, number));
      if (count !== null) lines.length = Math.min(lines.length, count);
    }
    const enough = count !== null && answers.length >= count;
    const slowest = Math.max(0, ...answers.map(({ module }) => module.respondsMs ?? 10));
    const shown = lines.length === 0 ? ["NO DATA"] : lines;
    if (this.faults.has("buffer-full")) shown.splice(1, shown.length, "BUFFER FULL");
    return { after: wakesMs + (enough ? slowest : slowest + waits), lines: [...opening, ...shown] };
  }

  /** The first request after a choice of protocol searches, or runs the start sequence of the bus. */
  #wake(number: number): { opening: string[]; wakesMs: number } {
    if (this.set.active !== 0) return { opening: [], wakesMs: 0 };
    const searching = this.set.protocol === 0;
    this.set.active = number;
    this.#waking = true;
    if (searching) return { opening: ["SEARCHING..."], wakesMs: 1500 };
    if (number >= 3 && number <= 5)
      return { opening: ["BUS INIT: ...OK"], wakesMs: number === 5 ? 200 : 2400 };
    return { opening: [], wakesMs: 0 };
  }

  /** Lines of one payload, with headers, as this class of adapter shows them. */
  #frames(address: string, payload: string, protocol: number): string[] {
    const bytes = payload.match(/../g) ?? [];
    const show = (...parts: string[]): string =>
      parts.join(this.set.spaces || this.faults.has("spaces") ? " " : "");
    const cut = (line: string): string => (this.faults.has("cut-reply") ? line.slice(0, 9) : line);
    if (!this.set.headers) return [cut(show(...bytes))];
    if (protocol >= 6) {
      if (bytes.length <= 7) return [cut(show(address, hex(bytes.length), ...bytes))];
      const frames = [
        show(
          address,
          `1${(bytes.length >> 8).toString(16)}`.toUpperCase(),
          hex(bytes.length & 0xff),
          ...bytes.slice(0, 6),
        ),
      ];
      for (let i = 6, n = 1; i < bytes.length; i += 7, n++) {
        const piece = bytes.slice(i, i + 7);
        while (piece.length < 7) piece.push("00");
        frames.push(show(address, `2${(n & 15).toString(16)}`.toUpperCase(), ...piece));
      }
      return this.faults.has("cut-reply") ? frames.slice(0, 1) : frames;
    }
    const header =
      protocol === 4 || protocol === 5 ? [hex(0x80 + bytes.length), "F1", address] : ["48", "6B", address];
    const all = [...header, ...bytes];
    const sum = all.reduce((total, byte) => total + parseInt(byte, 16), 0) & 0xff;
    return [cut(show(...all, protocol === 2 || protocol === 1 ? crc(all) : hex(sum)))];
  }

  #send(lines: readonly string[]): void {
    const lineEnd = this.set.linefeeds || this.faults.has("linefeeds") ? "\r\n" : "\r";
    const body = lines.map((line) => `${line}${lineEnd}`).join("");
    const text = `${this.faults.has("garbage") ? "\xc3\x91\x05\xf8" : ""}${body}${lineEnd}${this.faults.has("no-prompt") ? "" : ">"}`;
    const all = this.faults.has("doubled") ? text + text : text;
    if (this.faults.has("split")) {
      Array.from(all, (character, i) => this.#clock.after(i, () => this.say(character)));
    } else this.say(all);
  }
}

interface Answer {
  /** Milliseconds. */
  readonly after: number;
  readonly lines: string[];
}

/** Requests are whole bytes; a digit over is the number of replies to wait for. */
function splitCount(command: string): { request: string; count: number | null } {
  if (command.length % 2 === 0) return { request: command, count: null };
  return { request: command.slice(0, -1), count: parseInt(command.slice(-1), 16) };
}

function payloadsOf(module: PeerModule, request: string, single: boolean): readonly string[] {
  const known = module.replies[request];
  if (known !== undefined) return typeof known === "string" ? [known] : known;
  if (!request.startsWith("01") || request.length <= 4 || single) return [];
  // Several parameters at once: those it knows, in the order asked.
  const parts = (request.slice(2).match(/../g) ?? []).map((pid) => module.replies[`01${pid}`]);
  const data = parts.map((part) => (typeof part === "string" ? part.slice(2) : "")).join("");
  return data === "" ? [] : [`41${data}`];
}

function hex(byte: number): string {
  return byte.toString(16).toUpperCase().padStart(2, "0");
}

/** CRC-8/SAE-J1850: polynomial 1D, start FF, inverted at the end. */
function crc(bytes: readonly string[]): string {
  let register = 0xff;
  for (const byte of bytes) {
    register ^= parseInt(byte, 16);
    for (let bit = 0; bit < 8; bit++)
      register = register & 0x80 ? ((register << 1) ^ 0x1d) & 0xff : (register << 1) & 0xff;
  }
  return hex(register ^ 0xff);
}

/**
 * An invented four-cylinder, key on, engine stopped. Support map: the published example BE 3F E8 13 announces
 * 01 03-07 0B-13 15 1C 1F 20; the next one, invented, announces 33 and 40, the last 42.
 */
export const engineModule: PeerModule = {
  address: "7E8",
  respondsMs: 10,
  replies: {
    "0100": "4100BE3FE813",
    "0120": "412000002001",
    "0140": "414040000000",
    "0101": "410100076504",
    "0103": "41030000",
    "0104": "410400",
    "0105": "41057B",
    "0106": "410680",
    "0107": "410780",
    "010B": "410B65",
    "010C": "410C0000",
    "010D": "410D00",
    "010E": "410E80",
    "010F": "410F3C",
    "0110": "41100000",
    "0111": "411126",
    "0112": "411201",
    "0113": "411303",
    "0115": "41155AFF",
    "011C": "411C06",
    "011F": "411F0000",
    "0133": "413365",
    "0142": "414230D4",
  },
};

/** An invented gearbox module beside it. */
export const gearModule: PeerModule = {
  address: "7E9",
  respondsMs: 14,
  replies: {
    "0100": "410000180001",
    "0120": "412000000001",
    "0140": "414000000000",
    "010C": "410C0000",
    "010D": "410D00",
  },
};
