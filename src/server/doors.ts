/** Who may speak to the server: this machine, and pages that this server served. */

const localNames: ReadonlySet<string> = new Set(["127.0.0.1", "localhost", "[::1]"]);

/** True for a Host header that names this machine; another name means that a foreign site resolved to us. */
export function isLocalHost(host: string | undefined): boolean {
  if (host === undefined) return false;
  return localNames.has(host.replace(/:\d+$/, ""));
}

/** True when the page that asks came from this very server. */
export function isOwnOrigin(origin: string | undefined, host: string | undefined): boolean {
  return origin !== undefined && host !== undefined && isLocalHost(host) && origin === `http://${host}`;
}
