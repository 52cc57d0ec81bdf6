/** The Firefox of this machine, driven over WebDriver BiDi (W3C): as much of it as one visit needs. */
import { spawn, type ChildProcess } from "node:child_process";
import { setTimeout as wait } from "node:timers/promises";
import { WebSocket } from "ws";
import { z } from "zod/mini";
import { tempFolder } from "./program.ts";
import { firefox } from "./tools.ts";

const messageSchema = z.object({
  id: z.optional(z.nullable(z.number())),
  type: z.string(),
  result: z.optional(z.unknown()),
  method: z.optional(z.string()),
  params: z.optional(z.unknown()),
  error: z.optional(z.string()),
  message: z.optional(z.string()),
});
const treeSchema = z.object({ contexts: z.array(z.object({ context: z.string() })) });
const nodesSchema = z.object({ nodes: z.array(z.object({ sharedId: z.string() })) });
const entrySchema = z.object({ level: z.string(), text: z.nullable(z.string()) });
const valueSchema = z.object({
  type: z.literal("success"),
  result: z.object({ value: z.optional(z.unknown()) }),
});

/** What is not there by then does not come. */
const patienceMs = 40_000;

export class Firefox {
  readonly #process: ChildProcess;
  readonly #folder: ReturnType<typeof tempFolder>;
  readonly #socket: WebSocket;
  readonly #waiting = new Map<number, { done: (result: unknown) => void; failed: (error: Error) => void }>();
  #asked = 0;
  #context = "";
  /** What its console complained of. */
  readonly errors: string[] = [];

  private constructor(process: ChildProcess, folder: ReturnType<typeof tempFolder>, socket: WebSocket) {
    this.#process = process;
    this.#folder = folder;
    this.#socket = socket;
    socket.on("message", (data: Buffer) => this.#take(data.toString()));
  }

  /** With a profile of its own; only to be called where `firefox` is not null. */
  static async launch(): Promise<Firefox> {
    const folder = tempFolder();
    const args = ["--headless", "--no-remote", "--profile", folder.path, "--remote-debugging-port=0"];
    const child = spawn(firefox ?? "", args, { stdio: ["ignore", "ignore", "pipe"] });
    const address = await new Promise<string>((resolve, reject) => {
      let said = "";
      child.stderr.setEncoding("utf8").on("data", (text: string) => {
        said += text;
        const found = /listening on (ws:\S+)/.exec(said)?.[1];
        if (found !== undefined) resolve(found);
      });
      child.once("error", reject);
      child.once("close", () => reject(new Error(`Firefox ended before it listened: ${said}`)));
    });
    const socket = new WebSocket(`${address}/session`);
    await new Promise((resolve, reject) => socket.once("open", resolve).once("error", reject));
    const started = new Firefox(child, folder, socket);
    await started.#ask("session.new", { capabilities: {} });
    await started.#ask("session.subscribe", { events: ["log.entryAdded"] });
    const tree = treeSchema.parse(await started.#ask("browsingContext.getTree", {}));
    started.#context = tree.contexts[0]?.context ?? "";
    return started;
  }

  async open(url: string, size: { readonly width: number; readonly height: number }): Promise<void> {
    const context = this.#context;
    await this.#ask("browsingContext.setViewport", { context, viewport: size });
    await this.#ask("browsingContext.navigate", { context, url, wait: "complete" });
  }

  /** Presses the first that the selector finds, once it is there. By role and name it would take it ten seconds. */
  async click(selector: string): Promise<void> {
    const element = { sharedId: await this.#found(selector) };
    const actions = [
      { type: "pointerMove", x: 0, y: 0, origin: { type: "element", element } },
      { type: "pointerDown", button: 0 },
      { type: "pointerUp", button: 0 },
    ];
    const pointer = { type: "pointer", id: "hand", actions };
    await this.#ask("input.performActions", { context: this.#context, actions: [pointer] });
  }

  async press(key: string): Promise<void> {
    const actions = ["keyDown", "keyUp"].map((type) => ({ type, value: key }));
    await this.#ask("input.performActions", {
      context: this.#context,
      actions: [{ type: "key", id: "keys", actions }],
    });
  }

  /** What an expression of the page's comes to. */
  async value(expression: string): Promise<unknown> {
    const target = { context: this.#context };
    const said = await this.#ask("script.evaluate", { expression, target, awaitPromise: true });
    return valueSchema.parse(said).result.value;
  }

  async close(): Promise<void> {
    const gone = new Promise((done) => this.#process.once("close", done));
    this.#process.kill();
    await gone;
    this.#socket.terminate();
    this.#folder.remove();
  }

  async #found(selector: string): Promise<string> {
    const until = Date.now() + patienceMs;
    for (;;) {
      const locator = { type: "css", value: selector };
      const said = await this.#ask("browsingContext.locateNodes", { context: this.#context, locator });
      const id = nodesSchema.parse(said).nodes[0]?.sharedId;
      if (id !== undefined) return id;
      if (Date.now() > until) throw new Error(`Firefox finds no ${selector}`);
      await wait(100);
    }
  }

  #ask(method: string, params: Readonly<Record<string, unknown>>): Promise<unknown> {
    this.#asked += 1;
    const id = this.#asked;
    return new Promise((done, failed) => {
      this.#waiting.set(id, { done, failed });
      this.#socket.send(JSON.stringify({ id, method, params }));
    });
  }

  #take(text: string): void {
    const said = messageSchema.parse(JSON.parse(text));
    if (said.method === "log.entryAdded") {
      const entry = entrySchema.parse(said.params);
      if (entry.level === "error") this.errors.push(entry.text ?? "");
      return;
    }
    const asked = this.#waiting.get(said.id ?? Number.NaN);
    this.#waiting.delete(said.id ?? Number.NaN);
    if (said.type === "success") asked?.done(said.result);
    else asked?.failed(new Error(`${said.error ?? "error"}: ${said.message ?? ""}`));
  }
}
