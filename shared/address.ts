import { carriedWays, type CarriedWay } from "./carried.ts";
import { CranksideError } from "./errors.ts";

/** Where to listen: a serial port, a TCP adapter, a device that the browser reaches, or the bench vehicle. */
export type Address =
  | { readonly kind: "serial"; readonly path: string; readonly baud?: number }
  | { readonly kind: "tcp"; readonly host: string; readonly port: number }
  | { readonly kind: "browser"; readonly way: CarriedWay; readonly baud?: number }
  | { readonly kind: "bench"; readonly vehicle: string; readonly faults: readonly BenchFault[] };

/** A fault by name with a severity from 0 to 1 (1 when not said): `weak-battery=0.6`. */
export interface BenchFault {
  readonly name: string;
  readonly severity: number;
}

/** The shapes of an address, for whoever types one. */
export const addressShapes =
  "serial:PATH[@BAUD], tcp:HOST:PORT, browser:ble, browser:serial[@BAUD] or bench:VEHICLE[,FAULT[=SEVERITY]...]";

/** Reads an address as typed; throws `wrong-address` saying what was expected. */
export function parseAddress(text: string): Address {
  const colon = text.indexOf(":");
  const kind = text.slice(0, colon);
  const rest = text.slice(colon + 1);
  if (colon > 0 && rest !== "") {
    if (kind === "serial") return serialAddress(rest);
    if (kind === "tcp") return tcpAddress(rest);
    if (kind === "browser") return browserAddress(rest);
    if (kind === "bench") return benchAddress(rest);
  }
  throw new CranksideError("wrong-address", "not an address", {
    expected: addressShapes,
    found: quote(text),
  });
}

function serialAddress(rest: string): Address {
  const match = /^(.+)@(\d+)$/.exec(rest);
  if (match === null) return { kind: "serial", path: rest };
  return { kind: "serial", path: match[1] ?? rest, baud: baudOf(match[2], rest) };
}

function baudOf(digits: string | undefined, rest: string): number {
  const baud = Number(digits);
  if (baud >= 300 && baud <= 4_000_000) return baud;
  throw new CranksideError("wrong-address", "not a baud rate", {
    expected: "300 to 4000000",
    found: quote(rest),
  });
}

/** Radio has no baud rate: only a serial port takes one. */
function browserAddress(rest: string): Address {
  const match = /^([a-z]+)(?:@(\d+))?$/.exec(rest);
  const way = carriedWays.find((one) => one === match?.[1]);
  if (way === undefined || (way === "ble" && match?.[2] !== undefined)) {
    throw new CranksideError("wrong-address", "not a device of the browser", {
      expected: "browser:ble or browser:serial[@BAUD]",
      found: quote(`browser:${rest}`),
    });
  }
  return { kind: "browser", way, ...(match?.[2] === undefined ? {} : { baud: baudOf(match[2], rest) }) };
}

function tcpAddress(rest: string): Address {
  const match = /^\[?([^\]]+?)\]?:(\d+)$/.exec(rest);
  const port = Number(match?.[2]);
  if (match === null || !(port >= 1 && port <= 65535)) {
    throw new CranksideError("wrong-address", "not a TCP address", {
      expected: "tcp:HOST:PORT",
      found: quote(`tcp:${rest}`),
    });
  }
  return { kind: "tcp", host: match[1] ?? "", port };
}

function benchAddress(rest: string): Address {
  const [vehicle = "", ...words] = rest.split(",");
  const faults = words.map((word): BenchFault => {
    const match = /^([a-z0-9-]+)(?:=(0|1|0?\.\d+|1\.0*|0\.0*))?$/.exec(word);
    if (match === null) {
      throw new CranksideError("wrong-address", "not a fault", {
        expected: "FAULT or FAULT=SEVERITY with a severity from 0 to 1",
        found: quote(word),
      });
    }
    return { name: match[1] ?? "", severity: match[2] === undefined ? 1 : Number(match[2]) };
  });
  return { kind: "bench", vehicle, faults };
}

/** The address as it would be typed again. For the bench vehicle the faults are left out: nobody downstream may read them. */
export function addressText(address: Address): string {
  switch (address.kind) {
    case "serial":
      return `serial:${address.path}${address.baud === undefined ? "" : `@${address.baud}`}`;
    case "tcp":
      return `tcp:${address.host.includes(":") ? `[${address.host}]` : address.host}:${address.port}`;
    case "browser":
      return `browser:${address.way}${address.baud === undefined ? "" : `@${address.baud}`}`;
    case "bench":
      return `bench:${address.vehicle}`;
  }
}

function quote(text: string): string {
  return JSON.stringify(text.length > 80 ? `${text.slice(0, 77)}...` : text);
}
