/** What one exchange said in answer to a request for parameters. Pure. */
import { readReply, splitService01, type MessagePiece, type Others, type Piece } from "../framing/index.ts";
import { moduleOf, replyBody } from "../../shared/defined.ts";
import { identifiedParts } from "../../shared/identified.ts";
import { isMarkedDamaged, statusWordOf, type StatusKind } from "../../shared/statusWords.ts";
import type { ProtocolId } from "../../shared/protocols.ts";

export interface Answered {
  readonly module: string;
  /** -1 for a read that the person defined. */
  readonly pid: number;
  readonly data: Uint8Array;
}

export interface HeardReply {
  /** Only what was asked for. */
  readonly answers: readonly Answered[];
  /** Modules that sent a whole message that fits the request. */
  readonly modules: ReadonlySet<string>;
  /** Modules that said no. */
  readonly refusals: number;
  /** Those of them that said that they do not take the request in this form, or not all that is in it. */
  readonly refusedForm: ReadonlySet<string>;
  /** Part of a long message is missing. */
  readonly unfinished: boolean;
  /** A module asked for more time. */
  readonly pending: boolean;
  /** A message that answers another request: the dialogue is out of step. */
  readonly foreign: boolean;
  /** The gravest status word's kind; null when there was none beside information. */
  readonly trouble: StatusKind | null;
}

/** Not supported in this form, wrong length, out of range (ISO 14229-1 and ISO 14230-3, from memory). */
const refusesForm: ReadonlySet<number> = new Set([0x12, 0x13, 0x31]);

const gravest: readonly StatusKind[] = ["reset", "refused", "adapter", "bus", "no-answer"];

/** `pids` are the parameters that were asked by identifier: F4xx in service 22. */
export function hearIdentified(
  lines: readonly string[],
  pids: readonly number[],
  protocol: ProtocolId | null,
): HeardReply {
  return take(lines, protocol, {
    service: 0x22,
    parts: ({ module, data }) => identifiedParts(data, pids).map((part) => ({ module, ...part })),
  });
}

/** `pids` are the parameters that were asked with service 01. */
export function hear(
  lines: readonly string[],
  pids: readonly number[],
  protocol: ProtocolId | null,
): HeardReply {
  return take(lines, protocol, {
    service: 0x01,
    parts: ({ module, data }) => {
      const parts = data[0] === 0x41 ? splitService01(data, pids).parts : [];
      if (!parts.every(({ pid }) => pids.includes(pid))) return [];
      return parts.map((part) => ({ module, pid: part.pid, data: part.data }));
    },
  });
}

/**
 * `read` is a request that the person defined; the answers hold what follows its identifier. `from` and `addressed`: of a
 * module that is asked by its own addresses; what others say then is not foreign, only not its own.
 */
export function hearRead(
  lines: readonly string[],
  read: string,
  protocol: ProtocolId | null,
  own?: { readonly from: string; readonly addressed: boolean },
): HeardReply {
  const others = own === undefined ? undefined : { ids: new Set([own.from]), addressed: own.addressed };
  return take(
    lines,
    protocol,
    {
      service: parseInt(read.slice(0, 2), 16),
      parts: ({ module, data }) => {
        if (own !== undefined && module !== moduleOf(own.from)) return [];
        const body = replyBody(read, data);
        return body === null ? [] : [{ module, pid: -1, data: body }];
      },
    },
    others,
  );
}

interface Fitting {
  readonly service: number;
  /** What of a message answers the request; nothing: it belongs to another one. */
  readonly parts: (piece: MessagePiece) => readonly Answered[];
}

function take(
  lines: readonly string[],
  protocol: ProtocolId | null,
  fitting: Fitting,
  others?: Others,
): HeardReply {
  const pieces = readReply(lines, protocol, undefined, others);
  const answers: Answered[] = [];
  const modules = new Set<string>();
  let pending = false;
  let foreign = false;
  let refusals = 0;
  const refusedForm = new Set<string>();
  for (const piece of pieces) {
    if (piece.kind !== "message") continue;
    const [first, service, reason] = piece.data;
    if (first === 0x7f) {
      if (service === fitting.service && reason === 0x78) pending = true;
      else if (service === fitting.service) {
        refusals += 1;
        if (reason !== undefined && refusesForm.has(reason)) refusedForm.add(piece.module);
      }
      continue;
    }
    const parts = fitting.parts(piece);
    if (parts.length === 0) {
      foreign = true;
      continue;
    }
    modules.add(piece.module);
    answers.push(...parts);
  }
  return {
    answers,
    modules,
    refusals,
    refusedForm,
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
