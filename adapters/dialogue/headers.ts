/**
 * Request headers, as the adapter's command takes them (from memory): to all modules, as the standard requests go, and
 * to one module alone, as some makers' reads have to. SAE J2178-1 and ISO 14230-2 and 15765-4, from memory.
 */
import { protocols, type ProtocolId } from "../../shared/protocols.ts";

export interface HeaderPair {
  /** Sent before a read that one module is asked alone. */
  readonly alone: string;
  /** What else the adapter is told before it, in this order. */
  readonly before?: readonly string[];
  /** ... and behind it, before `all`. */
  readonly behind?: readonly string[];
  /** Sent behind it, always. */
  readonly all: string;
}

/**
 * `module` as a recording shows it, or a module by its own addresses: `726>72E`, `750>758/2A`. null where the bus knows
 * no such address.
 */
export function headersFor(protocol: ProtocolId, module: string): HeaderPair | null {
  const { family, idBits } = protocols[protocol];
  const own = /^([0-9A-F]+)>([0-9A-F]+)(?:\/([0-9A-F]{2}))?$/.exec(module);
  if (own !== null) {
    const [, to = "", from = "", extension] = own;
    if (family !== "can" || to.length !== (idBits === 11 ? 3 : 8)) return null;
    return to.length === 3 ? ownShort(to, from, extension) : ownLong(to, extension);
  }
  const address = module.slice(-2);
  if (family === "can" && idBits === 11) {
    if (!/^7E[89A-F]$/.test(module)) return null;
    const id = (parseInt(module, 16) - 8).toString(16).toUpperCase();
    return { alone: `ATSH${id}`, all: "ATSH7DF" };
  }
  if (!/^(?:18DAF1)?[0-9A-F]{2}$/.test(module)) return null;
  switch (family) {
    case "can":
      return { alone: `ATSHDA${address}F1`, all: "ATSHDB33F1" };
    case "vpw":
      return { alone: `ATSH6C${address}F1`, all: "ATSH686AF1" };
    case "pwm":
      return { alone: `ATSHC4${address}F1`, all: "ATSH616AF1" };
    case "kwp":
      return { alone: `ATSH80${address}F1`, all: "ATSHC033F1" };
    case "iso9141":
      return null;
  }
}

/**
 * With 11 bits the adapter listens for 7E8 to 7EF and lets only those go on with a long reply: it is told which identifier
 * to hear, and under which to send its flow control (30 00 00: all of it, without a pause). From memory of the adapter's
 * commands; ISO 15765-2 for the three bytes.
 */
function ownShort(to: string, from: string, extension: string | undefined): HeaderPair {
  const addressed = extension === undefined ? [] : [`ATCEA${extension}`];
  return {
    alone: `ATSH${to}`,
    before: [`ATCRA${from}`, `ATFCSH${to}`, "ATFCSD300000", "ATFCSM1", ...addressed],
    behind: [...(extension === undefined ? [] : ["ATCEA"]), "ATFCSM0", "ATCRA"],
    all: "ATSH7DF",
  };
}

/** With 29 bits all of 18DAF1xx is heard, and flow control goes back to where a reply came from. */
function ownLong(to: string, extension: string | undefined): HeaderPair {
  const pair = { alone: `ATSH${to.slice(2)}`, all: "ATSHDB33F1" };
  return extension === undefined ? pair : { ...pair, before: [`ATCEA${extension}`], behind: ["ATCEA"] };
}

const toAll: ReadonlySet<string> = new Set([
  "ATSH7DF",
  "ATSHDB33F1",
  "ATSH686AF1",
  "ATSH616AF1",
  "ATSHC033F1",
]);
/** Of 11 bits only what diagnosis uses (common practice); other identifiers are the vehicle's own traffic. */
const toOne =
  /^ATSH(?:(?!7DF)[67][0-9A-F]{2}|DA[0-9A-F]{2}F1|6C[0-9A-F]{2}F1|C4[0-9A-F]{2}F1|80[0-9A-F]{2}F1)$/;
const mayPrecede = /^AT(?:CRA[0-7][0-9A-F]{2}|FCSH[67][0-9A-F]{2}|FCSD300000|FCSM1|CEA[0-9A-F]{2})$/;
const mayFollow: ReadonlySet<string> = new Set(["ATCEA", "ATFCSM0", "ATCRA"]);

export function isHeaderPair({ alone, all, before = [], behind = [] }: HeaderPair): boolean {
  if (!toOne.test(alone) || !toAll.has(all)) return false;
  const flow = before.filter((command) => command.startsWith("ATFCSH"));
  return (
    before.every((command) => mayPrecede.test(command)) &&
    flow.every((command) => command.slice(6) === alone.slice(4)) &&
    behind.every((command) => mayFollow.has(command)) &&
    undone(before).every((command) => behind.includes(command))
  );
}

/** What has to be taken back of these. */
function undone(before: readonly string[]): string[] {
  const has = (start: string): boolean => before.some((command) => command.startsWith(start));
  return [
    ...(has("ATCRA") ? ["ATCRA"] : []),
    ...(has("ATFCSM1") ? ["ATFCSM0"] : []),
    ...(has("ATCEA") ? ["ATCEA"] : []),
  ];
}
