/** The page's files, the list of recordings, and the bytes of each. Read-only: changes go through the socket. */
import { createReadStream, existsSync } from "node:fs";
import { stat } from "node:fs/promises";
import type { IncomingMessage, RequestListener, ServerResponse } from "node:http";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import { createGunzip } from "node:zlib";
import sirv from "sirv";
import { isCranksideError, messageOf } from "../../shared/errors.ts";
import { inflationGuard, isGzip } from "../recorder/bytes.ts";
import { listRecordings } from "../recorder/list.ts";
import type { Desk } from "./desk.ts";
import { isFromElsewhere, type Door } from "./doors.ts";
import { recordingPath } from "./folders.ts";
import type { Finder } from "./finder.ts";
import type { Imports } from "./imports.ts";
import type { Jobs } from "./jobs.ts";
import type { Normals } from "./normals.ts";
import { decoded, urlOf } from "./paths.ts";
import { sendCsv, sendSummary, takeIn } from "./recordingsDoor.ts";
import { Summaries } from "./summaries.ts";

/** Of a file at once: each turn of the disk, the socket and the browser costs, whatever it brings. */
const pieceBytes = 256 * 1024;

const securityHeaders: Readonly<Record<string, string>> = {
  // Styles may stand on elements: charts place their parts that way. Scripts only come from files.
  "content-security-policy":
    "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'none'",
  "x-content-type-options": "nosniff",
  "referrer-policy": "no-referrer",
  "cross-origin-resource-policy": "same-origin",
  "cross-origin-opener-policy": "same-origin",
  // The page itself may ask for an adapter that the browser reaches; nothing else may.
  "permissions-policy":
    "camera=(), microphone=(), geolocation=(), payment=(), usb=(), serial=(self), bluetooth=(self)",
};

/** What one door has of its own; true when it answered. */
export type Extra = (request: IncomingMessage, response: ServerResponse, url: URL) => boolean;

export interface HttpOptions {
  readonly pageFolder: string;
  readonly desk: Desk;
  readonly door: Door;
  readonly extra?: Extra;
  readonly jobs: Jobs;
  readonly imports: Imports;
  readonly finder: Finder;
  readonly normals: Normals;
}

export function requestListener({
  pageFolder,
  desk,
  door,
  extra,
  jobs,
  imports,
  finder,
  normals,
}: HttpOptions): RequestListener {
  const summaries = new Summaries();
  // As it lies there at each request: a file of it that an update took away is not there, and ends nothing.
  const page = existsSync(pageFolder) ? sirv(pageFolder, { etag: true, dev: true }) : null;
  const answer: RequestListener = (request, response) => {
    for (const [name, value] of Object.entries(securityHeaders)) response.setHeader(name, value);
    if (!door.isOurName(request.headers.host))
      return refuse(response, 421, "this is not served under that name");
    const url = urlOf(request.url);
    // No name has a NUL in it, and the system throws at one. Jobs tell it with their own code.
    const named = url === null || url.pathname.startsWith("/api/jobs") ? "" : url.pathname + url.search;
    if (url === null || /%00/.test(named)) return refuse(response, 400, "this is no address");
    if (isFromElsewhere(request) && !isOpening(request))
      return refuse(response, 403, "another site's page has no business here");
    if (extra?.(request, response, url) === true) return;
    if (!door.isIn(request)) return refuse(response, 401, "the code is asked for at /join");
    if (jobs.answer(request, response, { url, door })) return;
    if (imports.answer(request, response, { url, door })) return;
    if (finder.answer(request, response, { url, door })) return;
    if (normals.answer(request, response, { url, door })) return;
    if (request.method === "POST" && url.pathname === "/api/recordings")
      return void takeIn(request, response, { url, desk, door });
    if (request.method !== "GET" && request.method !== "HEAD")
      return refuse(response, 405, "only reading is served here");
    if (url.pathname === "/api/recordings") return sendList(response, desk);
    if (url.pathname.startsWith("/api/recordings/"))
      return void sendRecording(request, response, { url, desk });
    if (url.pathname.startsWith("/api/summaries/"))
      return void sendSummary(response, { url, desk, summaries });
    if (page === null) return refuse(response, 503, "the page is not built: run npm run build");
    page(request, response, () => refuse(response, 404, "there is nothing at this address"));
  };
  // Whatever one request does, the recording and everybody else go on.
  return (request, response) => {
    try {
      answer(request, response);
    } catch (error) {
      if (response.headersSent) response.destroy();
      else refuse(response, 500, messageOf(error));
    }
  };
}

/** A link somewhere else that was followed opens our page like any address that is typed; it tells that site nothing. */
function isOpening(request: IncomingMessage): boolean {
  const { "sec-fetch-mode": mode, "sec-fetch-dest": dest } = request.headers;
  return (
    request.method === "GET" &&
    mode === "navigate" &&
    dest === "document" &&
    urlOf(request.url)?.pathname === "/"
  );
}

export function refuse(response: ServerResponse, status: number, text: string): void {
  response.writeHead(status, { "content-type": "text/plain; charset=utf-8", "cache-control": "no-store" });
  response.end(`${text}\n`);
}

function sendList(response: ServerResponse, desk: Desk): void {
  try {
    const entries = listRecordings(desk.folders);
    response.writeHead(200, {
      "content-type": "application/json; charset=utf-8",
      "cache-control": "no-store",
    });
    response.end(JSON.stringify(entries));
  } catch (error) {
    refuse(response, 500, messageOf(error));
  }
}

/** The recording's own text from byte `from` on: of the live one what waits in memory too, inflated where stored so. */
async function sendRecording(
  request: IncomingMessage,
  response: ServerResponse,
  { url, desk }: { readonly url: URL; readonly desk: Desk },
): Promise<void> {
  try {
    const file = decoded(url.pathname.slice("/api/recordings/".length));
    const from = Number(url.searchParams.get("from") ?? "0");
    if (file === null || !Number.isSafeInteger(from) || from < 0) {
      refuse(response, 400, "expected a file's name, and from, a byte offset");
      return;
    }
    const headers = { "content-type": "text/plain; charset=utf-8", "cache-control": "no-store" };
    if (url.searchParams.has("csv")) {
      await sendCsv(request, response, { file, desk });
      return;
    }
    const live = desk.liveBytes(file, from);
    // Before the answer begins: a disk that gives nothing back is still to be told with its own status.
    const begun = live === null ? [] : begin(live);
    const path = live === null ? recordingPath(desk.folders, file).path : "";
    const compressed = live === null && (await isGzip(path));
    if (live === null && !compressed) {
      await sendFile(request, response, { path, from, headers });
      return;
    }
    response.writeHead(200, headers);
    if (request.method === "HEAD") response.end();
    else if (live !== null) await pipeline(Readable.from(begun), response);
    else {
      const guard = inflationGuard();
      await pipeline(createReadStream(path), guard.raw, createGunzip(), guard.inflated, skip(from), response);
    }
  } catch (error) {
    // The reader who went away needs no answer.
    if (response.headersSent) response.destroy();
    else refuse(response, isCranksideError(error, "file-missing") ? 404 : 500, messageOf(error));
  }
}

/** As it lies on the disk, as long as it is now: who reads it can tell how much is still to come. */
async function sendFile(
  request: IncomingMessage,
  response: ServerResponse,
  { path, from, headers }: { readonly path: string; readonly from: number; readonly headers: object },
): Promise<void> {
  const { size } = await stat(path);
  const length = Math.max(0, size - from);
  response.writeHead(200, { ...headers, "content-length": length });
  if (request.method === "HEAD" || length === 0) response.end();
  else
    await pipeline(
      createReadStream(path, { start: from, end: size - 1, highWaterMark: pieceBytes }),
      response,
    );
}

/** The same with its first piece already taken, so that what is wrong from the beginning is thrown here. */
function begin(pieces: Iterable<Uint8Array>): Iterable<Uint8Array> {
  const iterator = pieces[Symbol.iterator]();
  const first = iterator.next();
  return (function* () {
    for (let next = first; next.done !== true; next = iterator.next()) yield next.value;
  })();
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
