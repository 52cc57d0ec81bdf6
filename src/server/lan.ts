/**
 * The door to the network, for a phone beside the engine. Whoever types the code that the laptop shows is let in, to
 * read and to mark. A code lets one device in; the next one has its own.
 */
import { createHash, randomInt, randomBytes, timingSafeEqual } from "node:crypto";
import type { IncomingMessage, ServerResponse } from "node:http";
import { isIPv4 } from "node:net";
import { networkInterfaces } from "node:os";
import { encode, renderUnicodeCompact } from "uqr";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { Lan } from "../../shared/messages.ts";
import { isOwnOrigin, type Door } from "./doors.ts";
import { refuse, type Extra } from "./http.ts";
import { joinPage, joinScript } from "./joinPage.ts";
import { Bucket } from "./limits.ts";
import type { Visitor } from "./visitors.ts";

/** Letters and digits that are not taken for one another. */
const letters = "23456789ABCDEFGHJKMNPQRSTVWXYZ";
const codeLength = 8;
/** Wrong codes in a row after which there is another code. */
const mostWrong = 5;
/** Codes that may be tried: so many at once, refilled at so many a second. */
const tryBurst = 10;
const triesASecond = 0.2;
/** Addresses whose tries are counted. */
const mostAddresses = 512;
/** A code that wrong ones changed is good for so much longer, milliseconds: somebody may be typing it. */
const stillGoodMs = 60_000;
/** Devices that were let in. */
const mostGuests = 8;
const longestBody = 200;
const cookieName = "crankside-guest";

export interface LanOptions {
  /** An address of this machine. */
  readonly host: string;
  readonly port: number;
  readonly clock: Clock;
  readonly guests: () => number;
  /** The code, or who is in, changed. */
  readonly onChange: () => void;
}

export class LanDoor implements Door {
  readonly role = "mark" as const;
  #enter = false;
  readonly #options: LanOptions;
  /** By the address that they come from: a neighbour's wrong codes keep nobody else out. */
  readonly #tries = new Map<string, Bucket>();
  /** Digests of what the guests' browsers keep; in memory only. */
  #tokens: Buffer[] = [];
  #code = newCode();
  #wrong = 0;
  #before = { code: "", untilMs: 0 };

  constructor(options: LanOptions) {
    this.#options = options;
  }

  get url(): string {
    return `http://${this.#ownName}/`;
  }

  /** The code as it is to be typed now. */
  get code(): string {
    return this.#code;
  }

  /** What a camera reads: the fragment never travels. */
  get #letter(): string {
    return `${this.url}join#${this.#code}`;
  }

  get #ownName(): string {
    return `${this.#options.host}:${this.#options.port}`;
  }

  tellFor(visitor: Visitor): Lan {
    const code = visitor.role === "full" ? this.#code : null;
    return { url: this.url, code, guests: this.#options.guests(), enter: this.#enter };
  }

  get mayEnter(): boolean {
    return this.#enter;
  }

  /** Off until the laptop's owner says otherwise. */
  letEnter(on: boolean): void {
    this.#enter = on;
    this.#options.onChange();
  }

  /** For a terminal. */
  text(): string {
    return renderUnicodeCompact(this.#letter, { border: 2 });
  }

  /** The picture for the page, drawn at any size. */
  svg(): string {
    const { data, size } = encode(this.#letter, { border: 4 });
    const dark = data
      .flatMap((row, y) => row.flatMap((on, x) => (on ? [`M${x} ${y}h1v1h-1z`] : [])))
      .join("");
    return (
      `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size} ${size}" shape-rendering="crispEdges">` +
      `<path fill="#fff" d="M0 0h${size}v${size}H0z"/><path d="${dark}"/></svg>`
    );
  }

  isOurName(host: string | undefined): boolean {
    return host === this.#ownName;
  }

  isIn(request: IncomingMessage): boolean {
    const token = /(?:^|;\s*)crankside-guest=([A-Za-z0-9_-]{43})(?:;|$)/.exec(
      request.headers.cookie ?? "",
    )?.[1];
    if (token === undefined) return false;
    const digest = digestOf(token);
    return this.#tokens.some((known) => timingSafeEqual(known, digest));
  }

  /** Where the code is typed. */
  readonly extra: Extra = (request, response, url) => {
    if (url.pathname === "/join.js" && request.method === "GET") {
      response.writeHead(200, {
        "content-type": "text/javascript; charset=utf-8",
        "cache-control": "no-store",
      });
      response.end(joinScript);
    } else if (url.pathname === "/join" && request.method === "GET") {
      response.writeHead(200, { "content-type": "text/html; charset=utf-8", "cache-control": "no-store" });
      response.end(joinPage);
    } else if (url.pathname === "/" && !this.isIn(request)) {
      response.writeHead(302, { location: "/join" });
      response.end();
    } else if (url.pathname === "/join" && request.method === "POST") this.#post(request, response);
    else return false;
    return true;
  };

  #post(request: IncomingMessage, response: ServerResponse): void {
    if (!isOwnOrigin(request, this)) return refuse(response, 403, "another site's page has no business here");
    let body = "";
    request.setEncoding("utf8");
    request.on("data", (text: string) => {
      body += text;
      if (body.length > longestBody) request.destroy();
    });
    request.on("error", () => response.destroy());
    request.on("end", () => this.#answer(body, response, request.socket.remoteAddress ?? ""));
  }

  #mayTry(from: string): boolean {
    const now = this.#options.clock.now();
    const bucket = this.#tries.get(from) ?? new Bucket(tryBurst, triesASecond, now);
    this.#tries.delete(from);
    this.#tries.set(from, bucket);
    const [oldest] = this.#tries.keys();
    if (this.#tries.size > mostAddresses && oldest !== undefined) this.#tries.delete(oldest);
    return bucket.take(now);
  }

  /** The code that stands on the laptop; or, a while longer, the one that somebody's wrong codes changed. */
  #isCode(code: string): boolean {
    const digest = digestOf(code);
    const isNow = timingSafeEqual(digest, digestOf(this.#code));
    const { code: before, untilMs } = this.#before;
    const wasJustNow = before !== "" && timingSafeEqual(digest, digestOf(before));
    return isNow || (wasJustNow && this.#options.clock.now() < untilMs);
  }

  #answer(typed: string, response: ServerResponse, from: string): void {
    if (!this.#mayTry(from)) return refuse(response, 429, "too many codes were tried; wait a little");
    const code = typed.toUpperCase().replace(/[^A-Z0-9]/g, "");
    if (!this.#isCode(code)) {
      this.#wrong += 1;
      if (this.#wrong >= mostWrong) {
        const before = { code: this.#code, untilMs: this.#options.clock.now() + stillGoodMs };
        this.#renew();
        this.#before = before;
      }
      return refuse(response, 403, "that is not the code; look at the laptop, it may have changed");
    }
    this.#renew();
    const token = randomBytes(32).toString("base64url");
    this.#tokens = [...this.#tokens, digestOf(token)].slice(-mostGuests);
    response.setHeader("set-cookie", `${cookieName}=${token}; Path=/; HttpOnly; SameSite=Strict`);
    response.writeHead(204, { "cache-control": "no-store" });
    response.end();
  }

  #renew(): void {
    this.#before = { code: "", untilMs: 0 };
    this.#code = newCode();
    this.#wrong = 0;
    this.#options.onChange();
  }
}

function newCode(): string {
  return Array.from({ length: codeLength }, () => letters[randomInt(letters.length)] ?? "2").join("");
}

function digestOf(text: string): Buffer {
  return createHash("sha256").update(text).digest();
}

/**
 * The address to listen on for `--lan`: the one that was asked for, else a private one of this machine, else the only
 * one it has. Throws `wrong-use`, which says what was asked for and what there is.
 */
export function lanHost(wanted: string | null, own: readonly string[] = ownAddresses()): string {
  const host = wanted ?? own.find(isPrivate) ?? (own.length === 1 ? own[0] : undefined);
  if (host !== undefined && isIPv4(host) && (own.includes(host) || host.startsWith("127."))) return host;
  const what =
    wanted !== null
      ? `--lan ${wanted} is no address of this machine`
      : own.length === 0
        ? "--lan was asked for, and this machine is in no network"
        : "--lan was asked for, and none of this machine's networks is a private one";
  throw new CranksideError("wrong-use", what, {
    expected:
      own.length === 0
        ? "a network (Wi-Fi, cable, or the phone's hotspot) that this machine has joined"
        : `--lan with one of ${own.join(", ")}`,
    ...(wanted === null ? {} : { found: wanted }),
  });
}

/** IPv4 addresses of this machine, in the order in which the system lists its networks. */
function ownAddresses(): string[] {
  return Object.values(networkInterfaces())
    .flatMap((list) => list ?? [])
    .filter(({ family, internal }) => family === "IPv4" && !internal)
    .map(({ address }) => address);
}

/** RFC 1918, and RFC 3927 for two machines without a router. */
function isPrivate(address: string): boolean {
  return /^(?:10\.|192\.168\.|172\.(?:1[6-9]|2\d|3[01])\.|169\.254\.)/.test(address);
}
