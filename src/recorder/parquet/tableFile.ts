/** One Parquet file, written row group by row group; it bears its name only when it is whole. */
import { closeSync, mkdirSync, openSync, renameSync, rmSync, writeSync } from "node:fs";
import { dirname } from "node:path";
import { ByteWriter, ParquetWriter, type Writer } from "hyparquet-writer";
import { unwritable } from "../problems.ts";
import { schemaOf, tablesVersion, type Column } from "./columns.ts";

/** Rows of a group: what readers of this format split their work by. */
export const groupRows = 131_072;

type Cell = string | number | bigint | null;

export class TableFile {
  readonly path: string;
  readonly #part: string;
  readonly #columns: readonly Column[];
  readonly #file: number;
  readonly #parquet: ParquetWriter;
  #cells: Cell[][];
  #rows = 0;
  #bytes = 0;
  #open = true;

  /** Throws `file-unwritable`. */
  constructor(path: string, columns: readonly Column[], writer: string) {
    this.path = path;
    this.#part = `${path}.part`;
    this.#columns = columns;
    this.#cells = columns.map(() => []);
    try {
      mkdirSync(dirname(path), { recursive: true });
      this.#file = openSync(this.#part, "w");
    } catch (error) {
      throw unwritable(this.#part, error);
    }
    this.#parquet = new ParquetWriter({
      writer: this.#sink(),
      schema: schemaOf(columns),
      createdBy: writer,
      kvMetadata: [{ key: "crankside.tables", value: String(tablesVersion) }],
    });
  }

  get rows(): number {
    return this.#rows;
  }

  get bytes(): number {
    return this.#bytes;
  }

  /** A row, a cell each column in their order. */
  add(cells: readonly Cell[]): void {
    for (let c = 0; c < cells.length; c++) this.#cells[c]?.push(cells[c] ?? null);
    this.#rows += 1;
    if (this.#cells[0]?.length === groupRows) this.#group();
  }

  /** Ends the file and gives it its name. */
  finish(): void {
    this.#group();
    try {
      // Our own sink takes everything at once: there is nothing to wait for.
      void this.#parquet.finish();
      this.#close();
      renameSync(this.#part, this.path);
    } catch (error) {
      throw unwritable(this.path, error);
    }
  }

  /** Leaves nothing behind. */
  giveUp(): void {
    try {
      this.#close();
    } finally {
      rmSync(this.#part, { force: true });
    }
  }

  #close(): void {
    if (!this.#open) return;
    this.#open = false;
    closeSync(this.#file);
  }

  #group(): void {
    if ((this.#cells[0]?.length ?? 0) === 0) return;
    try {
      void this.#parquet.write({
        rowGroupSize: groupRows,
        columnData: this.#columns.map(({ name, type }, c) => ({
          name,
          data: this.#cells[c] ?? [],
          // Times rise in small steps: their differences take a fraction of the room.
          ...(type === "micros" || type === "time" ? { encoding: "DELTA_BINARY_PACKED" as const } : {}),
        })),
      });
    } catch (error) {
      throw unwritable(this.#part, error);
    }
    this.#cells = this.#columns.map(() => []);
  }

  /** Bytes go to the file behind each row group, so that no more than one is held. */
  #sink(): Writer {
    const bytes = new ByteWriter();
    const flush = (): void => {
      const piece = bytes.getBytes();
      for (let at = 0; at < piece.length;) at += writeSync(this.#file, piece, at);
      this.#bytes += piece.length;
      bytes.index = 0;
    };
    return Object.assign(bytes, { flush, finish: flush });
  }
}
