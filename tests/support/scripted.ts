/** An adapter that answers each command by a function, byte for byte. It shares no code with the program. */
import { memoryPair } from "../../adapters/link/memory.ts";
import type { Clock } from "../../shared/clock.ts";
import type { ByteEnd } from "../../shared/wire.ts";

export interface Said {
  /** All of it, prompt included. */
  readonly text: string;
  /** Milliseconds from the command. Default 5. */
  readonly afterMs?: number;
}

export class Scripted {
  /** Commands in the order received, with their time. */
  readonly log: { readonly at: number; readonly command: string }[] = [];
  readonly #clock: Clock;
  #says: (command: string, at: number) => string | Said;
  #end: ByteEnd | null = null;
  #typed = "";

  /** `says`: a line without its end and prompt, or all of what is said. */
  constructor(clock: Clock, says: (command: string, at: number) => string | Said) {
    this.#clock = clock;
    this.#says = says;
  }

  get received(): string[] {
    return this.log.map(({ command }) => command);
  }

  open(): Promise<ByteEnd> {
    const [ours, theirs] = memoryPair("tcp:scripted:1", "scripted");
    this.#end = theirs;
    this.#typed = "";
    theirs.onBytes((bytes) => {
      for (const byte of bytes) {
        if (byte !== 13) this.#typed += String.fromCharCode(byte);
        else this.#run(this.#typed);
      }
    });
    return Promise.resolve(ours);
  }

  /** From now on. */
  script(says: (command: string, at: number) => string | Said): void {
    this.#says = says;
  }

  say(text: string): void {
    // Whoever hung up hears it no more.
    this.#end?.write(Uint8Array.from(text, (c) => c.charCodeAt(0))).catch(() => undefined);
  }

  /** The line goes away. */
  async drop(): Promise<void> {
    await this.#end?.close();
  }

  #run(command: string): void {
    this.#typed = "";
    const at = this.#clock.now();
    this.log.push({ at, command });
    const said = this.#says(command, at);
    const { text, afterMs = 5 } = typeof said === "string" ? { text: `${said}\r\r>` } : said;
    this.#clock.after(afterMs, () => this.say(text));
  }
}

/** What a good adapter says to commands of its own; undefined for a request to the vehicle. */
export function goodAdapter(command: string): string | undefined {
  if (command === "ATZ" || command === "ATWS" || command === "ATI") return "ELM327 v1.5";
  if (command === "ATRV") return "12.4V";
  if (command === "ATDPN") return "6";
  return command.startsWith("AT") ? "OK" : undefined;
}

/** Engine speed, coolant and manifold of an invented engine, headers on, CAN; undefined for what it does not have. */
export function goodVehicle(command: string): string {
  const replies: Readonly<Record<string, string>> = {
    "0100": "7E806410008300000",
    "010C": "7E804410C1AF8",
    "0105": "7E80341057B",
    "010B": "7E803410B65",
  };
  return replies[command] ?? replies[command.slice(0, 4)] ?? "NO DATA";
}
