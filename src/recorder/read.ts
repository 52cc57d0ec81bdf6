import type { Header } from "../../shared/recording/format.ts";
import { RecordingReader, type Notice, type ReaderSink } from "../../shared/recording/reader.ts";
import { eachPiece } from "./bytes.ts";

export interface ReadSummary {
  readonly header: Header;
  /** Bytes of the recording's text, inflated. */
  readonly bytes: number;
  readonly gzip: boolean;
  /** All notices, as the sink got them. */
  readonly notices: readonly Notice[];
}

export interface ReadOptions {
  /** Hears how many bytes of the file itself were read so far. */
  readonly onProgress?: (bytes: number) => void;
}

/**
 * Reads a recording, `.ndjson` or gzip by its first bytes, through the sink. Rejects with `file-missing`,
 * `file-unreadable`, `not-a-recording` (an empty file included) or `newer-format`; everything else that is wrong
 * with it is a notice and the rest is kept.
 */
export async function readRecording(
  path: string,
  sink: ReaderSink,
  options: ReadOptions = {},
): Promise<ReadSummary> {
  const notices: Notice[] = [];
  const heads: Header[] = [];
  const notice = (told: Notice): void => {
    notices.push(told);
    sink.notice(told);
  };
  const reader = new RecordingReader(
    {
      header: (header) => {
        heads.push(header);
        sink.header(header);
      },
      event: (event, line) => sink.event(event, line),
      scanned: (exchange, line) => sink.scanned?.(exchange, line) ?? false,
      unknown: (event, line) => sink.unknown?.(event, line),
      notice,
    },
    path,
  );
  let bytes = 0;
  const end = await eachPiece(
    path,
    (piece) => {
      bytes += piece.length;
      reader.push(piece);
    },
    options.onProgress,
  );
  reader.finish();
  const damage = gzipDamage(end);
  if (damage !== null) notice({ line: 0, text: damage, lost: true });
  const [header] = heads;
  // `finish` throws where there was no header line, so this cannot happen.
  if (header === undefined) throw new Error("a recording without header was read");
  return { header, bytes, gzip: end.gzip, notices };
}

/** What is wrong with the compressed file, in words, or null. */
export function gzipDamage(end: { truncated: boolean; damage: string | null }): string | null {
  if (end.truncated) return "the compressed file is cut short; what could be inflated is kept";
  if (end.damage !== null)
    return `the compressed file is damaged (${end.damage}); what could be inflated is kept`;
  return null;
}
