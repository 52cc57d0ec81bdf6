/**
 * Request headers, as the adapter's command takes them (from memory): to all modules, as the standard requests go, and
 * to one module alone, as some makers' reads have to. SAE J2178-1 and ISO 14230-2 and 15765-4, from memory.
 */
import { protocols, type ProtocolId } from "../../shared/protocols.ts";

export interface HeaderPair {
  /** Sent before a read that one module is asked alone. */
  readonly alone: string;
  /** Sent behind it, always. */
  readonly all: string;
}

/** `module` as a recording shows it. null where the bus knows no such address: then all are asked. */
export function headersFor(protocol: ProtocolId, module: string): HeaderPair | null {
  const { family, idBits } = protocols[protocol];
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

const toAll: ReadonlySet<string> = new Set([
  "ATSH7DF",
  "ATSHDB33F1",
  "ATSH686AF1",
  "ATSH616AF1",
  "ATSHC033F1",
]);
const toOne = /^ATSH(?:7E[0-7]|DA[0-9A-F]{2}F1|6C[0-9A-F]{2}F1|C4[0-9A-F]{2}F1|80[0-9A-F]{2}F1)$/;

export function isHeaderPair({ alone, all }: HeaderPair): boolean {
  return toOne.test(alone) && toAll.has(all);
}
