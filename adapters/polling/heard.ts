/** What one exchange said in answer to a request for parameters. Pure. */
import { readReply, splitService01, type Piece } from "../framing/index.ts";
import { isMarkedDamaged, statusWordOf, type StatusKind } from "../../shared/statusWords.ts";
import { parameterByPid } from "../../shared/parameters.ts";
import type { ProtocolId } from "../../shared/protocols.ts";

export interface Answered {
  readonly module: string;
  readonly pid: number;
  readonly data: Uint8Array;
}

export interface Heard {
  /** Only what was asked for. */
  readonly answers: readonly Answered[];
  /** Modules that sent a whole message that fits the request. */
  readonly modules: ReadonlySet<string>;
  /** Part of a long message is missing. */
  readonly unfinished: boolean;
  /** A module asked for more time. */
  readonly pending: boolean;
  /** A message that answers another request: the dialogue is out of step. */
  readonly foreign: boolean;
  /** The gravest status word's kind; null when there was none beside information. */
  readonly trouble: StatusKind | null;
}

const gravest: readonly StatusKind[] = ["reset", "refused", "adapter", "bus", "no-answer"];

/** `pids` are the parameters that were asked with service 01. */
export function hear(lines: readonly string[], pids: readonly number[], protocol: ProtocolId | null): Heard {
  const pieces = readReply(lines, protocol);
  const answers: Answered[] = [];
  const modules = new Set<string>();
  let pending = false;
  let foreign = false;
  for (const piece of pieces) {
    if (piece.kind !== "message") continue;
    const [service, second, third] = piece.data;
    if (service === 0x7f) {
      if (second === 0x01 && third === 0x78) pending = true;
      continue;
    }
    const parts = service === 0x41 ? splitService01(piece.data, parameterByPid, pids).parts : [];
    if (parts.length === 0 || !parts.every(({ pid }) => pids.includes(pid))) {
      foreign = true;
      continue;
    }
    modules.add(piece.module);
    for (const { pid, data } of parts) answers.push({ module: piece.module, pid, data });
  }
  return {
    answers,
    modules,
    unfinished: pieces.some(isUnfinished),
    pending,
    foreign,
    trouble: troubleOf(pieces, lines),
  };
}

function isUnfinished(piece: Piece): boolean {
  return piece.kind === "discarded" && piece.unfinished === true;
}

function troubleOf(pieces: readonly Piece[], lines: readonly string[]): StatusKind | null {
  const kinds = new Set<StatusKind>();
  for (const piece of pieces) {
    if (piece.kind !== "status") continue;
    const kind = statusWordOf(piece.lines[0] ?? "")?.kind;
    if (kind !== undefined && kind !== "info") kinds.add(kind);
  }
  if (lines.some(isMarkedDamaged)) kinds.add("bus");
  return gravest.find((kind) => kinds.has(kind)) ?? null;
}
