/** The page's files, the list of recordings, and the bytes of each. Read-only: changes go through the socket. */
import { createReadStream, existsSync } from "node:fs";
import { open } from "node:fs/promises";
import type { IncomingMessage, RequestListener, ServerResponse } from "node:http";
import { pipeline } from "node:stream/promises";
import { createGunzip } from "node:zlib";
import sirv from "sirv";
import { isCranksideError, messageOf } from "../../shared/errors.ts";
import { listRecordings } from "../recorder/list.ts";
import { isLocalHost } from "./doors.ts";
import { recordingPath, type Folders } from "./folders.ts";

const securityHeaders: Readonly<Record<string, string>> = {
  // Styles may stand on elements: charts place their parts that way. Scripts only come from files.
  "content-security-policy":
    "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'none'",
  "x-content-type-options": "nosniff",
  "referrer-policy": "no-referrer",
  "cross-origin-resource-policy": "same-origin",
};

export function requestListener(pageFolder: string, folders: Folders): RequestListener {
  const page = existsSync(pageFolder) ? sirv(pageFolder, { etag: true }) : null;
  return (request, response) => {
    for (const [name, value] of Object.entries(securityHeaders)) response.setHeader(name, value);
    if (!isLocalHost(request.headers.host))
      return refuse(response, 421, "this address is served to the machine itself only");
    if (request.method !== "GET" && request.method !== "HEAD")
      return refuse(response, 405, "only reading is served here");
    const url = new URL(request.url ?? "/", "http://localhost");
    if (url.pathname === "/api/recordings") return sendList(response, folders);
    if (url.pathname.startsWith("/api/recordings/"))
      return void sendRecording(request, response, { url, folders });
    if (page === null) return refuse(response, 503, "the page is not built: run npm run build");
    page(request, response, () => refuse(response, 404, "there is nothing at this address"));
  };
}

function refuse(response: ServerResponse, status: number, text: string): void {
  response.writeHead(status, { "content-type": "text/plain; charset=utf-8" });
  response.end(`${text}\n`);
}

function sendList(response: ServerResponse, folders: Folders): void {
  try {
    const entries = listRecordings(folders);
    response.writeHead(200, {
      "content-type": "application/json; charset=utf-8",
      "cache-control": "no-store",
    });
    response.end(JSON.stringify(entries));
  } catch (error) {
    refuse(response, 500, messageOf(error));
  }
}

interface RecordingRequest {
  readonly url: URL;
  readonly folders: Folders;
}

/** The recording's own text from byte `from` on, inflated where it is stored compressed. */
async function sendRecording(
  request: IncomingMessage,
  response: ServerResponse,
  { url, folders }: RecordingRequest,
): Promise<void> {
  try {
    const { path } = recordingPath(
      folders,
      decodeURIComponent(url.pathname.slice("/api/recordings/".length)),
    );
    const from = Number(url.searchParams.get("from") ?? "0");
    if (!Number.isSafeInteger(from) || from < 0) {
      refuse(response, 400, "expected from, a byte offset");
      return;
    }
    const compressed = await isGzip(path);
    response.writeHead(200, { "content-type": "text/plain; charset=utf-8", "cache-control": "no-store" });
    if (request.method === "HEAD") return void response.end();
    if (compressed) await pipeline(createReadStream(path), createGunzip(), skip(from), response);
    else await pipeline(createReadStream(path, { start: from }), response);
  } catch (error) {
    if (response.headersSent) response.destroy();
    else refuse(response, isCranksideError(error, "file-missing") ? 404 : 500, messageOf(error));
  }
}

async function isGzip(path: string): Promise<boolean> {
  const handle = await open(path, "r");
  try {
    const { buffer, bytesRead } = await handle.read(Buffer.alloc(2), 0, 2, 0);
    return bytesRead === 2 && buffer[0] === 0x1f && buffer[1] === 0x8b;
  } finally {
    await handle.close();
  }
}

/** Passes on all but the first `count` bytes. */
function skip(count: number) {
  return async function* (source: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
    let left = count;
    for await (const chunk of source) {
      if (left >= chunk.length) left -= chunk.length;
      else {
        yield chunk.subarray(left);
        left = 0;
      }
    }
  };
}
