import { createServer, connect, type AddressInfo, type Socket } from "node:net";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError, messageOf, type ErrorCode } from "../../shared/errors.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { realClock } from "./clock.ts";
import { EndState } from "./endState.ts";

export interface TcpOptions {
  readonly host: string;
  readonly port: number;
  /** How long the other side may take to accept, milliseconds; 5000 when not said. */
  readonly withinMs?: number;
}

const acceptWithinMs = 5000;

/** A radio link that died quietly is noticed by the system after about a minute of such probes. */
const probeAfterMs = 10_000;

function nameOf(host: string, port: number): string {
  return `tcp:${host.includes(":") ? `[${host}]` : host}:${port}`;
}

/** Connects to an adapter or a bench vehicle; rejects with `link-failed`. */
export function openTcp(options: TcpOptions, clock: Clock = realClock): Promise<ByteEnd> {
  const { host, port, withinMs = acceptWithinMs } = options;
  const name = nameOf(host, port);
  return new Promise((resolve, reject) => {
    const socket = connect({ host, port });
    const fail = (found: string, cause?: unknown): void => {
      cancel();
      socket.destroy();
      reject(
        new CranksideError(
          "link-failed",
          "no connection",
          {
            expected: `an adapter that accepts within ${withinMs} ms`,
            found,
            where: name,
            advice: "Join the adapter's own network first; its address and port are in its papers.",
          },
          cause,
        ),
      );
    };
    const cancel = clock.after(withinMs, () => fail("no answer"));
    const failed = (error: Error): void => fail(messageOf(error), error);
    socket.once("error", failed);
    socket.once("connect", () => {
      cancel();
      // In this order, so that no moment is without a listener for errors.
      const end = wrapSocket(socket, name);
      socket.removeListener("error", failed);
      resolve(end);
    });
  });
}

/** A connected socket as one end of a line. The socket is ours from here on. */
export function wrapSocket(socket: Socket, name: string): ByteEnd {
  const state = new EndState(name);
  let trouble: Error | null = null;
  const gone = new Promise<void>((resolve) => {
    if (socket.destroyed) resolve();
    socket.once("close", () => {
      state.shut(state.lost(trouble ?? "the other end closed the connection"));
      resolve();
    });
  });
  // A command is a few bytes that must not wait for more.
  socket.setNoDelay(true);
  socket.setKeepAlive(true, probeAfterMs);
  socket.on("error", (error) => {
    trouble = error;
  });
  // Half-open lines are of no use here: nobody is left who could answer.
  socket.once("end", () => socket.destroySoon());
  socket.on("data", (bytes: Uint8Array) => state.deliver(bytes));
  if (socket.destroyed) state.shut(state.lost("the connection was over before it was used"));
  return {
    name,
    write: (bytes) => state.write((done) => socket.write(Uint8Array.from(bytes), done)),
    onBytes: (listener) => state.onBytes(listener),
    onClose: (listener) => state.onClose(listener),
    async close() {
      const unsent = state.pendingWrites > 0;
      state.shut(null);
      // A write under way may wait for a peer that never reads: only a clean line is ended gently.
      if (unsent) socket.destroy();
      else socket.destroySoon();
      await gone;
    },
  };
}

export interface TcpListener {
  readonly host: string;
  /** The port in use, also when 0 was asked for. */
  readonly port: number;
  /** Stops listening and closes every end that is still open. */
  close(): Promise<void>;
}

/** Listens, and hands over an end for each who connects. Rejects with `port-busy`, `port-refused` or `link-failed`. */
export function listenTcp(
  { host, port }: { readonly host: string; readonly port: number },
  onEnd: (end: ByteEnd) => void,
): Promise<TcpListener> {
  const name = nameOf(host, port);
  const ends = new Set<ByteEnd>();
  const server = createServer((socket) => {
    const end = wrapSocket(socket, nameOf(socket.remoteAddress ?? "?", socket.remotePort ?? 0));
    ends.add(end);
    socket.once("close", () => ends.delete(end));
    onEnd(end);
  });
  return new Promise((resolve, reject) => {
    const failed = (error: NodeJS.ErrnoException): void => reject(listenError(error, name));
    server.once("error", failed);
    server.listen({ host, port, exclusive: true }, () => {
      server.removeListener("error", failed);
      const { port: used } = server.address() as AddressInfo;
      resolve({
        host,
        port: used,
        async close() {
          // Closing twice is fine: the callback's "not running" is no failure.
          const closed = new Promise<void>((done) => {
            server.close(() => done());
          });
          await Promise.all([...ends].map((end) => end.close()));
          await closed;
        },
      });
    });
  });
}

const listenFailures: Readonly<Record<string, readonly [code: ErrorCode, summary: string, advice: string]>> =
  {
    EADDRINUSE: ["port-busy", "the TCP port is in use", "Take another port, or end the program that has it."],
    EACCES: ["port-refused", "the system does not give this TCP port", "Take a port from 1024 on."],
  };

function listenError(error: NodeJS.ErrnoException, where: string): CranksideError {
  const [code, summary, advice] = listenFailures[error.code ?? ""] ?? [
    "link-failed",
    "cannot listen",
    "Use 127.0.0.1 or an address of this machine.",
  ];
  return new CranksideError(code, summary, { found: error.message, where, advice }, error);
}
