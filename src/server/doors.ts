/** Who may speak to the server: this machine, pages that this server served, and guests that were let in. */
import type { IncomingMessage } from "node:http";
import type { Role } from "../../shared/messages.ts";

/** One address that the server listens on, and what those who come in there may do. */
export interface Door {
  readonly role: Role;
  /** Who comes in here may add results of hand checks to a job, and change nothing else of it. */
  readonly mayEnter: boolean;
  /** False for a Host header that names another machine: then a foreign site resolved to us. */
  isOurName(host: string | undefined): boolean;
  /** True for one who needs no letting in, or was let in. */
  isIn(request: IncomingMessage): boolean;
}

const localNames: ReadonlySet<string> = new Set(["127.0.0.1", "localhost", "[::1]"]);

export function isLocalHost(host: string | undefined): boolean {
  if (host === undefined) return false;
  return localNames.has(host.replace(/:\d{1,5}$/, ""));
}

/** The machine itself. Another port than ours is the development server before us. */
export const loopbackDoor: Door = { role: "full", mayEnter: true, isOurName: isLocalHost, isIn: () => true };

/** True when the page that asks came from this very server. */
export function isOwnOrigin(request: IncomingMessage, door: Door): boolean {
  const { origin, host } = request.headers;
  return origin !== undefined && host !== undefined && door.isOurName(host) && origin === `http://${host}`;
}

/**
 * True when a browser says that a page of another site is behind this request. Browsers that do not say it are kept
 * from reading the answer by the same-origin rule alone.
 */
export function isFromElsewhere(request: IncomingMessage): boolean {
  const site = request.headers["sec-fetch-site"];
  return site !== undefined && site !== "same-origin" && site !== "none";
}
