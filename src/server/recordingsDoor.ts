/** What comes in and goes out of the recordings folder as files: a recording from elsewhere, a whole one as CSV. */
import type { IncomingMessage, ServerResponse } from "node:http";
import { exportCsv } from "../recorder/export.ts";
import { takeRecording } from "../recorder/take.ts";
import type { Desk } from "./desk.ts";
import { isOwnOrigin, type Door } from "./doors.ts";
import { recordingPath } from "./folders.ts";
import { answerError, answerJson, counted, forbid } from "./answers.ts";
import { decoded } from "./paths.ts";
import type { Summaries } from "./summaries.ts";

/** A recording that comes over HTTP, as it lies on the disk. */
const mostBytes = 2 * 1024 * 1024 * 1024;

/** Takes the body as a recording of this name. Only the page on this machine may. */
export async function takeIn(
  request: IncomingMessage,
  response: ServerResponse,
  { url, desk, door }: { readonly url: URL; readonly desk: Desk; readonly door: Door },
): Promise<void> {
  if (door.role !== "full" || !isOwnOrigin(request, door)) {
    forbid(response, "takes in files");
    return;
  }
  try {
    const name = url.searchParams.get("name") ?? "";
    const body = counted(request, mostBytes, "too-much");
    answerJson(response, await takeRecording(desk.folders.own, name, body));
  } catch (error) {
    answerError(response, error);
  }
}

/** The whole recording as CSV, as far as it has come; a failure on the way breaks the answer off. */
export async function sendCsv(
  request: IncomingMessage,
  response: ServerResponse,
  { file, desk }: { readonly file: string; readonly desk: Desk },
): Promise<void> {
  try {
    const { path } = recordingPath(desk.folders, file);
    const name = file.replace(/\.ndjson(?:\.gz)?$/, "").replace(/[^\w .()+@=-]/g, "_");
    const begin = (): void => {
      response.writeHead(200, {
        "content-type": "text/csv; charset=utf-8",
        "cache-control": "no-store",
        "content-disposition": `attachment; filename="${name}.csv"`,
      });
    };
    if (request.method === "HEAD") {
      begin();
      response.end();
      return;
    }
    await exportCsv(path, { out: response, onBegin: begin });
    response.end();
  } catch (error) {
    answerError(response, error);
  }
}

/** 204 where there is none: it is too long, or is being recorded, or another one is and this would hold that up. */
export async function sendSummary(
  response: ServerResponse,
  { url, desk, summaries }: { readonly url: URL; readonly desk: Desk; readonly summaries: Summaries },
): Promise<void> {
  try {
    const { path } = recordingPath(desk.folders, decoded(url.pathname.slice("/api/summaries/".length)) ?? "");
    const busy = desk.status().recording !== null;
    const summary = busy ? summaries.known(path) : await summaries.of(path);
    if (summary !== null) {
      answerJson(response, summary);
      return;
    }
    response.writeHead(204, { "cache-control": "no-store" });
    response.end();
  } catch (error) {
    answerError(response, error);
  }
}
