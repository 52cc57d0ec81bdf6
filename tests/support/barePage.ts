import { WebSocket } from "ws";
import { readLiveFrame, type LiveLines } from "../../shared/liveFrame.ts";
import {
  readMessage,
  serverMessageSchema,
  type PageRequest,
  type ServerMessage,
  type Status,
} from "../../shared/messages.ts";

export type Unnumbered = PageRequest extends infer R
  ? R extends { id: number }
    ? Omit<R, "id">
    : never
  : never;

/** A page without a screen. */
export class BarePage {
  readonly messages: ServerMessage[] = [];
  readonly frames: LiveLines[] = [];
  readonly #ws: WebSocket;
  #next = 1;
  #waiting: (() => void)[] = [];

  private constructor(ws: WebSocket) {
    this.#ws = ws;
    ws.on("message", (data: Buffer, isBinary) => {
      if (isBinary) this.frames.push(readLiveFrame(new Uint8Array(data)));
      else this.messages.push(readMessage(serverMessageSchema, data.toString("utf8")));
      for (const wake of this.#waiting.splice(0)) wake();
    });
  }

  /** Rejects when the server refuses it. `url` is the server's own, with a slash at the end. */
  static async open(url: string, headers: Record<string, string> = {}): Promise<BarePage> {
    const ws = new WebSocket(`${url.replace("http", "ws")}ws`, { origin: url.slice(0, -1), headers });
    const page = new BarePage(ws);
    await new Promise<void>((resolve, reject) => {
      ws.once("error", reject);
      void page.until(() => page.status !== null).then(resolve);
    });
    return page;
  }

  get status(): Status | null {
    return this.last("status")?.status ?? null;
  }

  async until(condition: () => boolean): Promise<void> {
    while (!condition()) {
      await new Promise<void>((resolve) => {
        this.#waiting.push(resolve);
      });
    }
  }

  /** The last message of this type. */
  last<T extends ServerMessage["type"]>(type: T): Extract<ServerMessage, { type: T }> | undefined {
    const is = (m: ServerMessage): m is Extract<ServerMessage, { type: T }> => m.type === type;
    return this.messages.findLast(is);
  }

  send(text: string): void {
    this.#ws.send(text);
  }

  async ask(request: Unnumbered): Promise<Extract<ServerMessage, { type: "done" | "failed" }>> {
    const id = this.#next++;
    this.send(JSON.stringify({ ...request, id }));
    const isAnswer = (m: ServerMessage): m is Extract<ServerMessage, { type: "done" | "failed" }> =>
      (m.type === "done" || m.type === "failed") && m.id === id;
    await this.until(() => this.messages.some(isAnswer));
    const answer = this.messages.find(isAnswer);
    if (answer === undefined) throw new Error("unreachable: it was waited for");
    return answer;
  }

  /** The recording as this page got it over the line, from the byte its first lines begin at. */
  lines(file: string): { from: number; text: string } {
    const parts = this.frames.filter((one) => one.file === file);
    const text = Buffer.concat(parts.map(({ bytes }) => bytes)).toString("utf8");
    return { from: parts[0]?.from ?? 0, text };
  }

  /** Resolves when the server ended it. */
  closed(): Promise<void> {
    return new Promise((resolve) => {
      this.#ws.once("close", () => resolve());
      this.#ws.on("error", () => undefined);
    });
  }

  close(): void {
    this.#ws.terminate();
  }
}
