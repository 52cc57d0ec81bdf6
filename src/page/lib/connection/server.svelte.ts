import {
  readMessage,
  serverMessageSchema,
  type Failure,
  type Lan,
  type PageRequest,
  type HandReading,
  type PortInfo,
  type Revealed,
  type Role,
  type ServerMessage,
  type Status,
} from "../../../../shared/messages.ts";
import type { Clock } from "../../../../shared/clock.ts";
import { isCranksideError } from "../../../../shared/errors.ts";
import { readLiveFrame, type LiveLines } from "../../../../shared/liveFrame.ts";
import { Socket } from "./socket.ts";
import { Waiting } from "./waiting.ts";

type WithoutId<T> = T extends unknown ? Omit<T, "id"> : never;
export type Ask = WithoutId<PageRequest>;
export type Answer =
  | {
      readonly ok: true;
      readonly ports: readonly PortInfo[];
      readonly reading?: HandReading | undefined;
      readonly revealed?: Revealed | undefined;
    }
  | { readonly ok: false; readonly failure: Failure };

type Hello = Extract<ServerMessage, { type: "hello" }>;

export interface ServerHandlers {
  /** The socket is open again: whatever was missed meanwhile can be asked for. */
  joined(): void;
  /** The socket was lost. */
  parted(): void;
  status(status: Status): void;
  lines(lines: LiveLines): void;
}

const nothing: Status = {
  link: "none",
  address: null,
  doing: "",
  failure: null,
  adapter: null,
  protocol: null,
  modules: [],
  recording: null,
  battery: null,
  channels: [],
  focus: null,
  armed: false,
  strength: false,
  bench: null,
};

/** The program behind the page: what it says of itself, and a way to ask it for things. */
export class Server {
  #joined: "not yet" | "yes" | "gone" = $state("not yet");
  #hello: Hello | null = $state.raw(null);
  #status: Status = $state.raw(nothing);
  /** The last message that could not be read, and how many there were. */
  #unread: { readonly count: number; readonly last: string } | null = $state.raw(null);
  #role: Role = $state("full");
  #holder: string | null = $state(null);
  #beside: string | null = $state(null);
  #lan: Lan | null = $state.raw(null);
  readonly #waiting = new Waiting<Answer>();
  readonly #handlers: Omit<ServerHandlers, "lines">;
  readonly #socket: Socket;

  constructor(url: string, clock: Clock, handlers: ServerHandlers) {
    this.#handlers = handlers;
    this.#socket = new Socket(url, clock, {
      opened: () => {
        this.#joined = "yes";
        handlers.joined();
      },
      text: (text) => this.#reading(() => this.#take(readMessage(serverMessageSchema, text))),
      bytes: (frame) => this.#reading(() => handlers.lines(readLiveFrame(frame))),
      gone: () => this.#gone(),
    });
  }

  get joined(): "not yet" | "yes" | "gone" {
    return this.#joined;
  }

  get hello(): Hello | null {
    return this.#hello;
  }

  get status(): Status {
    return this.#status;
  }

  /** What this page may do. */
  get role(): Role {
    return this.#role;
  }

  /** Which other page drives the adapter, in words; null when none does. */
  get holder(): string | null {
    return this.#holder;
  }

  /** Who else has this page's job open, in words; null when nobody has. */
  get beside(): string | null {
    return this.#beside;
  }

  /** The door to the network, while it is open. */
  get lan(): Lan | null {
    return this.#lan;
  }

  /** Results of hand checks may be entered on this page. */
  get mayEnter(): boolean {
    return this.#role === "full" || this.#lan?.enter === true;
  }

  get unread(): { readonly count: number; readonly last: string } | null {
    return this.#unread;
  }

  /** Never rejects: a lost connection is an answer too. */
  ask(ask: Ask): Promise<Answer> {
    const { id, answer } = this.#waiting.begin();
    if (!this.#socket.send(JSON.stringify({ ...ask, id })))
      this.#waiting.settle(id, { ok: false, failure: away });
    return answer;
  }

  close(): void {
    this.#socket.close();
    this.#gone();
  }

  #gone(): void {
    this.#joined = "gone";
    this.#handlers.parted();
    this.#waiting.settleAll({ ok: false, failure: away });
  }

  #reading(work: () => void): void {
    try {
      work();
    } catch (error) {
      if (!isCranksideError(error, "message-invalid")) throw error;
      this.#unread = { count: (this.#unread?.count ?? 0) + 1, last: error.message };
    }
  }

  #take(message: ServerMessage): void {
    switch (message.type) {
      case "hello":
        this.#hello = message;
        break;
      case "status":
        this.#status = message.status;
        this.#handlers.status(message.status);
        break;
      case "you":
        this.#role = message.role;
        this.#holder = message.holder;
        this.#beside = message.beside;
        break;
      case "lan":
        this.#lan = message.lan;
        break;
      case "done":
        {
          const { ports = [], reading, revealed } = message;
          this.#waiting.settle(message.id, { ok: true, ports, reading, revealed });
        }
        break;
      case "failed":
        this.#waiting.settle(message.id, { ok: false, failure: message.failure });
        break;
    }
  }
}

const away: Failure = {
  code: "link-closed",
  message: "Crankside itself does not answer. Check that the program still runs where it was started.",
};
