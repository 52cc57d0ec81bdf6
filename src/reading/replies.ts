/** What modules said in one exchange: whole messages, and the parameters in them. */
import { splitService01, type MessagePiece, type Piece } from "../../adapters/framing/index.ts";
import { identifiedParts } from "../../shared/identified.ts";
import { protocols, type ProtocolId } from "../../shared/protocols.ts";
import { FilledFrames, isShortFrame } from "./filled.ts";
import { supportMapPids } from "./modules.ts";
import type { BrokenAnswer } from "./read.ts";

export class Replies {
  /** Headers were seen once: from then on a line without one is a damaged line. */
  headersOn: true | undefined;
  readonly filled = new FilledFrames();

  /** What was said in whole, and why the rest was not used. */
  take(
    pieces: readonly Piece[],
    protocol: ProtocolId | null,
  ): { readonly messages: MessagePiece[]; readonly discarded: string[] } {
    const messages: MessagePiece[] = [];
    const discarded: string[] = [];
    for (const piece of pieces) {
      if (piece.kind === "discarded") discarded.push(piece.reason);
      if (piece.kind !== "message") continue;
      if (piece.module !== "") this.headersOn = true;
      messages.push(piece);
    }
    if (protocol === null || protocols[protocol].family !== "can") return { messages, discarded };
    const { idBits = 11 } = protocols[protocol];
    const short = messages.map((m) => m.module !== "" && m.lines.some((line) => isShortFrame(line, idBits)));
    const fits = messages.map(({ module }, i) => this.filled.fits(module, short[i] === true));
    messages.forEach(({ module }, i) => this.filled.see(module, short[i] === true));
    for (const one of fits) if (!one) discarded.push("a frame shorter than this module's others");
    return { messages: messages.filter((_, i) => fits[i] === true), discarded };
  }
}

/** A frame that announced more than it holds, in words, and the key by which that is told once. */
export function claimsMore({ module, claims = 0 }: MessagePiece, ask: string, use: boolean) {
  const but = use ? "what came of it is used" : "it is not used";
  const what = `with a frame that announces ${claims} bytes and holds 7`;
  return { key: `claims ${module} ${ask}`, text: `module ${module} answered ${ask} ${what}: ${but}` };
}

/** Longer answers of which a part is missing. */
export function brokenIn(pieces: readonly Piece[], { t, ask }: { t: number; ask: string }): BrokenAnswer[] {
  return pieces.flatMap((piece) =>
    piece.kind === "discarded" && piece.unfinished === true
      ? [{ t, ask, module: piece.module ?? "", why: piece.reason }]
      : [],
  );
}

export interface ModulePart {
  readonly pid: number;
  readonly module: string;
  readonly data: Uint8Array;
}

/** Times that a module must tell one parameter within an exchange to be believed to tell it again and again. */
const again = 3;

/**
 * The parameters that were asked for, by module. One that a module told twice, and not alike, is left out; of one that it
 * told again and again, as real captures have it, the last counts.
 */
export function partsOf(
  messages: readonly MessagePiece[],
  { pids, byIdentifier }: { readonly pids: readonly number[]; readonly byIdentifier?: true },
): ModulePart[] {
  const parts = new Map<string, ModulePart>();
  const disputed = new Set<string>();
  const repeated: ModulePart[] = [];
  const times = new Map<string, number>();
  for (const { module, data } of messages) {
    if (data[0] !== (byIdentifier === true ? 0x62 : 0x41)) continue;
    const told = byIdentifier === true ? identifiedParts(data, pids) : splitService01(data, pids).parts;
    for (const { pid, data: bytes } of told) {
      if (!pids.includes(pid)) continue;
      const key = `${pid} ${module}`;
      const before = parts.get(key);
      const count = (times.get(key) ?? 0) + 1;
      times.set(key, count);
      if (before === undefined) parts.set(key, { pid, module, data: bytes });
      else if (supportMapPids.has(pid)) repeated.push({ pid, module, data: bytes });
      // One of the two answers somebody else, or is late.
      else if (!alike(before.data, bytes)) disputed.add(key);
      if (before === undefined || supportMapPids.has(pid) || count < again) continue;
      disputed.delete(key);
      parts.set(key, { pid, module, data: bytes });
    }
  }
  return [...[...parts].flatMap(([key, part]) => (disputed.has(key) ? [] : [part])), ...repeated];
}

function alike(a: Uint8Array, b: Uint8Array): boolean {
  return a.length === b.length && a.every((byte, i) => byte === b[i]);
}
