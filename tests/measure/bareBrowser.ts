/**
 * Chromium led by a few words of its DevTools protocol. A driver that watches the network has the browser keep whatever
 * is fetched and decode it once more, which takes a fifth of a second for the recording of an hour: nobody who opens
 * one has that.
 */
import { spawn, type ChildProcess } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { WebSocket } from "ws";
import { quietFlags } from "../support/browser.ts";

/** Of a command, or word of something that happened. */
interface Answer {
  readonly id?: number;
  readonly method?: string;
  readonly sessionId?: string;
  readonly result?: Readonly<Record<string, unknown>>;
  readonly error?: { readonly message: string };
}

export interface BarePage {
  /** The value of an expression, awaited. */
  evaluate(expression: string): Promise<unknown>;
  close(): Promise<void>;
}

export class BareBrowser {
  readonly #process: ChildProcess;
  readonly #profile: string;
  readonly #socket: WebSocket;
  readonly #waiting = new Map<number, (answer: Answer) => void>();
  readonly #whenLoaded = new Map<string, () => void>();
  #last = 0;

  private constructor(process: ChildProcess, profile: string, socket: WebSocket) {
    this.#process = process;
    this.#profile = profile;
    this.#socket = socket;
    socket.on("message", (data: Buffer) => {
      const answer = JSON.parse(data.toString("utf8")) as Answer;
      if (answer.method === "Page.loadEventFired") this.#whenLoaded.get(answer.sessionId ?? "")?.();
      if (answer.id === undefined) return;
      this.#waiting.get(answer.id)?.(answer);
      this.#waiting.delete(answer.id);
    });
  }

  static async launch(chromium: string): Promise<BareBrowser> {
    const profile = mkdtempSync(join(tmpdir(), "crankside-browser-"));
    const flags = [...quietFlags, "--headless", "--remote-debugging-port=0", "--window-size=1280,720"];
    const process = spawn(chromium, [...flags, `--user-data-dir=${profile}`, "about:blank"], {
      stdio: ["ignore", "ignore", "pipe"],
    });
    for await (const line of createInterface({ input: process.stderr })) {
      const address = /ws:\/\/\S+/.exec(line)?.[0];
      if (address === undefined) continue;
      process.stderr.resume();
      const socket = new WebSocket(address);
      await once(socket, "open");
      return new BareBrowser(process, profile, socket);
    }
    throw new Error("the browser ended before it said where it listens");
  }

  /** A tab of its own, with a script that runs before the page's. */
  async open(url: string, script: string): Promise<BarePage> {
    const { targetId } = await this.#send("Target.createTarget", { url: "about:blank" });
    const { sessionId } = await this.#send("Target.attachToTarget", { targetId, flatten: true });
    const send = (method: string, params: object): Promise<Readonly<Record<string, unknown>>> =>
      this.#send(method, params, String(sessionId));
    await send("Page.enable", {});
    await send("Page.addScriptToEvaluateOnNewDocument", { source: script });
    const loaded = new Promise<void>((resolve) => this.#whenLoaded.set(String(sessionId), resolve));
    await send("Page.navigate", { url });
    await loaded;
    return {
      evaluate: async (expression) => {
        const how = { expression, awaitPromise: true, returnByValue: true };
        const { result, exceptionDetails } = await send("Runtime.evaluate", how);
        if (exceptionDetails !== undefined) throw new Error(JSON.stringify(exceptionDetails));
        return (result as { readonly value?: unknown }).value;
      },
      close: async () => {
        await this.#send("Target.closeTarget", { targetId });
      },
    };
  }

  async close(): Promise<void> {
    this.#socket.terminate();
    const ended = once(this.#process, "close");
    this.#process.kill();
    await ended;
    rmSync(this.#profile, { recursive: true, force: true, maxRetries: 5 });
  }

  async #send(
    method: string,
    params: object,
    sessionId?: string,
  ): Promise<Readonly<Record<string, unknown>>> {
    const id = ++this.#last;
    const answered = new Promise<Answer>((resolve) => this.#waiting.set(id, resolve));
    this.#socket.send(JSON.stringify({ id, method, params, sessionId }));
    const { result, error } = await answered;
    if (error !== undefined) throw new Error(`${method}: ${error.message}`);
    return result ?? {};
  }
}
