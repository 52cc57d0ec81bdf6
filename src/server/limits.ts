/** How much anyone may ask of the server. A page of ours stays far below each of these. */

/** Longest request over the socket, bytes: the longest facts, with room. */
export const longestRequest = 64 * 1024;
/** Pages at once. */
export const mostSockets = 24;
/** Of these for devices of the network: the rest is kept back for this machine. */
export const mostGuestSockets = 12;
/** Additions to one finished recording that wait; for a device of the network. */
export const mostGuestAdditions = 8;
/** Sockets that carry an adapter. */
export const mostCarriers = 4;
/** Requests of one page: so many at once, refilled at so many a second. */
export const requestBurst = 120;
export const requestsASecond = 40;
/** Requests of one page that wait for their answer. */
export const mostWaiting = 64;
/** A page that was told `too-much` this often, with less than a pause in between, is cut off. Milliseconds. */
export const mostRefusals = 1000;
export const pauseMs = 1000;
/** A page that does not drain this much is cut off; it comes back and catches up from the recording. Bytes. */
export const mostBuffered = 8 * 1024 * 1024;
/** A page that does not answer to a ping for this long is gone, milliseconds. */
export const pingEveryMs = 30_000;

/** HTTP connections at once, and what one request may take. Bytes and milliseconds. */
export const mostConnections = 128;
export const longestHeaders = 16 * 1024;
export const headersMs = 10_000;
export const requestMs = 60_000;

/** A bucket of tokens that fills by itself. Time comes in as a value, milliseconds. */
export class Bucket {
  readonly #size: number;
  readonly #perSecond: number;
  #tokens: number;
  #filledMs: number;

  constructor(size: number, perSecond: number, nowMs: number) {
    this.#size = size;
    this.#perSecond = perSecond;
    this.#tokens = size;
    this.#filledMs = nowMs;
  }

  /** False when none is left. */
  take(nowMs: number): boolean {
    const since = Math.max(0, nowMs - this.#filledMs);
    this.#tokens = Math.min(this.#size, this.#tokens + (since / 1000) * this.#perSecond);
    this.#filledMs = nowMs;
    if (this.#tokens < 1) return false;
    this.#tokens -= 1;
    return true;
  }
}
