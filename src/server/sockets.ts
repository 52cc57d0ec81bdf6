/** The WebSocket side: each page gets the state and the live lines, and its requests are answered one by one. */
import type { Server } from "node:http";
import { WebSocketServer, type WebSocket } from "ws";
import { CranksideError, isCranksideError, messageOf } from "../../shared/errors.ts";
import { readMessage, requestSchema, type Failure, type ServerMessage } from "../../shared/messages.ts";
import type { Desk } from "./desk.ts";
import { isOwnOrigin } from "./doors.ts";

/** Longest request a page may send. */
const maxPayload = 64 * 1024;
/** A page that does not drain this much is cut off; it comes back and catches up from the file. */
const maxBufferedBytes = 8 * 1024 * 1024;

export function failureOf(error: unknown): Failure {
  return { code: isCranksideError(error) ? error.code : "server-failed", message: messageOf(error) };
}

export function serveSockets(server: Server, desk: Desk): WebSocketServer {
  const sockets = new WebSocketServer({ noServer: true, maxPayload });
  server.on("upgrade", (request, socket, head) => {
    const path = new URL(request.url ?? "/", "http://localhost").pathname;
    if (path !== "/ws" || !isOwnOrigin(request.headers.origin, request.headers.host)) {
      socket.end("HTTP/1.1 403 Forbidden\r\nconnection: close\r\n\r\n");
      return;
    }
    sockets.handleUpgrade(request, socket, head, (ws) => welcome(ws, desk));
  });
  desk.onMessage((message) => {
    const text = JSON.stringify(message);
    for (const ws of sockets.clients) send(ws, text);
  });
  return sockets;
}

function send(ws: WebSocket, text: string): void {
  if (ws.readyState !== ws.OPEN) return;
  if (ws.bufferedAmount > maxBufferedBytes) ws.terminate();
  else ws.send(text);
}

function welcome(ws: WebSocket, desk: Desk): void {
  const tell = (message: ServerMessage): void => send(ws, JSON.stringify(message));
  for (const message of desk.greeting()) tell(message);
  ws.on("error", () => ws.terminate());
  ws.on("message", (data) => {
    void answer(textOf(data), desk, tell);
  });
}

function textOf(data: Buffer | ArrayBuffer | Buffer[]): string {
  if (Array.isArray(data)) return Buffer.concat(data).toString("utf8");
  return Buffer.isBuffer(data) ? data.toString("utf8") : Buffer.from(data).toString("utf8");
}

async function answer(text: string, desk: Desk, tell: (message: ServerMessage) => void): Promise<void> {
  let id = -1;
  try {
    const request = readMessage(requestSchema, text);
    id = request.id;
    tell({ type: "done", id, ...(await desk.handle(request)) });
  } catch (error) {
    if (id === -1 && !isCranksideError(error))
      throw new CranksideError("server-failed", messageOf(error), {}, error);
    tell({ type: "failed", id, failure: failureOf(error) });
  }
}
