import type { Failure } from "../../../../shared/messages.ts";
import type { Advice } from "../../../interpret/causes/adviceSchema.ts";
import { pause, type Clock } from "../../../../shared/clock.ts";
import { bodyOf } from "./body.ts";
import type {
  FromAnalysts,
  FromRecording,
  ReadBy,
  ToAnalysts,
  ToRecording,
  WantedRecording,
  WhatToWeigh,
} from "./analystTalk.ts";

export interface RecordingHandlers {
  hear(say: FromRecording): void;
  /** The thread came to grief: all of it is read once more, on the page. */
  again(): void;
}

type Send = (say: ToAnalysts, handedOver?: ArrayBuffer[]) => void;

interface Open {
  readonly wanted: WantedRecording;
  readonly handlers: RecordingHandlers;
  /** What it was told to be read by. */
  by: ReadBy | null;
  ended: boolean;
  readonly asked: Map<number, (failure: Failure | null) => void>;
}

/** The page's side of the thread on which recordings are read. Without threads they are read on the page. */
export class AnalystThread {
  readonly #clock: Clock;
  readonly #open = new Map<number, Open>();
  /** The question that is not answered yet. */
  #weigh: { readonly ask: number; readonly say: ToAnalysts; readonly told: (advice: Advice) => void } | null =
    null;
  #worker: Worker | null = null;
  #send: Send;
  #last = 0;

  constructor(clock: Clock) {
    this.#clock = clock;
    this.#send = "Worker" in globalThis ? this.#threaded() : this.#here();
  }

  open(wanted: WantedRecording, handlers: RecordingHandlers): RecordingLine {
    const id = ++this.#last;
    const open: Open = { wanted, handlers, by: null, ended: false, asked: new Map() };
    this.#open.set(id, open);
    this.#send({ kind: "open", id, ...wanted });
    return {
      lines: (from, bytes) =>
        this.#say(id, { kind: "lines", from, bytes, at: this.#clock.now() }, [bytes.buffer]),
      catchUp: (ended) => {
        open.ended ||= ended;
        if (!this.#open.has(id)) return Promise.resolve(null);
        return new Promise((resolve) => {
          const ask = ++this.#last;
          open.asked.set(ask, resolve);
          this.#say(id, { kind: "catch-up", ask, ended });
        });
      },
      readBy: (by) => {
        open.by = by;
        this.#say(id, { kind: "read-by", ...by });
      },
      beat: () => this.#say(id, { kind: "beat", at: this.#clock.now() }),
      stand: () => this.#say(id, { kind: "stand" }),
      close: () => {
        this.#say(id, { kind: "close" });
        this.#open.delete(id);
        // Nobody is answered any more, and nobody waits for ever.
        for (const resolve of open.asked.values()) resolve(null);
      },
    };
  }

  /** The newest question alone is answered. */
  weigh(about: WhatToWeigh, soon: boolean, told: (advice: Advice) => void): void {
    const ask = ++this.#last;
    this.#weigh = { ask, say: { kind: "weigh", ask, about, soon }, told };
    this.#send(this.#weigh.say);
  }

  close(): void {
    this.#worker?.terminate();
    this.#worker = null;
    this.#open.clear();
    this.#send = () => undefined;
  }

  #say(id: number, say: ToRecording, handedOver: ArrayBuffer[] = []): void {
    this.#send({ kind: "to", id, say }, handedOver);
  }

  #threaded(): Send {
    const worker = new Worker(new URL("./analyst.worker.ts", import.meta.url), { type: "module" });
    this.#worker = worker;
    worker.addEventListener("message", ({ data }: MessageEvent<FromAnalysts>) => this.#hear(data));
    worker.addEventListener("error", () => {
      if (this.#worker !== worker) return;
      worker.terminate();
      this.#worker = null;
      this.#again();
    });
    return (say, handedOver = []) => worker.postMessage(say, { transfer: handedOver });
  }

  /** The same on the page, in pieces between frames. */
  #here(): Send {
    const clock = this.#clock;
    const analysts = import("./analysts.ts").then(
      ({ Analysts }) =>
        new Analysts({ clock, rest: () => pause(clock, 0), bodyOf }, (say) => this.#hear(say)),
    );
    return (say) => void analysts.then((those) => those.hear(say));
  }

  #again(): void {
    this.#send = this.#here();
    for (const [id, { wanted, handlers, by, ended, asked }] of this.#open) {
      handlers.again();
      this.#send({ kind: "open", id, ...wanted });
      if (by !== null) this.#say(id, { kind: "read-by", ...by });
      if (asked.size === 0) asked.set(++this.#last, () => undefined);
      for (const ask of asked.keys()) this.#say(id, { kind: "catch-up", ask, ended });
    }
    if (this.#weigh !== null) this.#send(this.#weigh.say);
  }

  #hear(say: FromAnalysts): void {
    if (say.kind === "advice") {
      const { ask, told } = this.#weigh ?? {};
      if (ask !== say.ask) return;
      this.#weigh = null;
      told?.(say.advice);
      return;
    }
    const open = this.#open.get(say.id);
    if (open === undefined) return;
    open.handlers.hear(say.say);
    if (say.say.kind !== "caught") return;
    const { ask, failure } = say.say;
    open.asked.get(ask)?.(failure);
    open.asked.delete(ask);
  }
}

/** What can be said to one recording. */
export interface RecordingLine {
  /** Live lines, which stand at byte `from` of the file; their memory is handed over. */
  lines(from: number, bytes: Uint8Array<ArrayBuffer>): void;
  /** Resolves when all that the file held is taken, with why it was not. */
  catchUp(ended: boolean): Promise<Failure | null>;
  readBy(by: ReadBy): void;
  beat(): void;
  stand(): void;
  close(): void;
}
