/** Reads a CSV into columns of numbers, keeps the good rows and counts the defects of the others. */
import { parse } from "csv-parse";
import { CranksideError, isCranksideError, messageOf } from "../../../shared/errors.ts";
import { nearestOf } from "../../../shared/nearest.ts";
import { conversionOf } from "../../../shared/unitNames.ts";
import { eachPiece } from "../bytes.ts";
import { gzipDamage } from "../read.ts";
import { cellOf, numberOf } from "./cells.ts";
import { clockSeconds, isoMs } from "./clockTimes.ts";
import { RowClock } from "./dates.ts";
import { headerName, type MappedColumn, type ReadMap } from "./map.ts";
import { counted, mostFrequent, Tally } from "./tally.ts";

export interface Table {
  /** Each row's time as the file says it, in seconds; for ISO 8601 seconds since 1970. */
  readonly time: readonly number[];
  /** The time column holds whole numbers only, in its own unit. */
  readonly wholeTimes: boolean;
  /** Times of day whose day is known: seconds since 1970, zones left out. */
  readonly dated: boolean;
  /** Values by mapped column and row in the channel's unit; NaN where there is none. */
  readonly values: readonly (readonly number[])[];
  readonly columns: readonly MappedColumn[];
  readonly notices: readonly string[];
}

interface CsvRecord {
  readonly record: readonly string[];
  readonly info: { readonly lines: number };
}

/** Longest row that is believed, characters. */
const longestRow = 1 << 20;

/** Rejects with `file-missing`, `file-unreadable`, `csv-columns` or `csv-values`. */
export async function readTable(path: string, map: ReadMap, onRows?: (rows: number) => void): Promise<Table> {
  const parser = parse({
    delimiter: map.delimiter,
    record_delimiter: ["\r\n", "\n", "\r"],
    bom: true,
    info: true,
    relax_column_count: true,
    relax_quotes: true,
    trim: true,
    max_record_size: longestRow,
  });
  const rows = new Rows(path, map);
  const done = new Promise<void>((resolve, reject) => {
    parser.on("data", (row: CsvRecord) => {
      try {
        rows.take(row);
        if (rows.count % 5000 === 0) onRows?.(rows.count);
      } catch (error) {
        parser.removeAllListeners("data");
        reject(isCranksideError(error) ? error : new Error(messageOf(error), { cause: error }));
      }
    });
    parser.on("end", resolve);
    parser.on("error", (error) => {
      const where = `${path}, after line ${rows.lastLine}`;
      reject(new CranksideError("csv-values", "not a CSV", { found: messageOf(error), where }, error));
    });
  });
  let lastByte = 0;
  const decoder = map.encoding === "utf-8" ? null : new TextDecoder(map.encoding);
  const reading = eachPiece(path, (piece) => {
    // Behind the last letter of UTF-16 stands a zero.
    lastByte = piece.findLast((byte) => byte !== 0) ?? lastByte;
    parser.write(decoder === null ? piece : decoder.decode(piece, { stream: true }));
  }).then((end) => {
    if (decoder !== null) parser.write(decoder.decode());
    parser.end();
    return end;
  });
  const [end] = await Promise.all([reading, done]);
  const damage = gzipDamage(end);
  return rows.finish({ endsOpen: lastByte !== 0x0a && lastByte !== 0x0d, damage });
}

/** The header is looked for in the first so many rows: some loggers write about themselves above it. */
const mostAbove = 40;

class Rows {
  readonly #path: string;
  readonly #map: ReadMap;
  readonly #tally = new Tally();
  #names: string[] = [];
  /** Rows above the header, in case it is none of the first ones. */
  #above: (readonly string[])[] = [];
  readonly #clock: RowClock;
  #datePlace = -1;
  /** Place of the time column, then of each mapped one. */
  #places: number[] = [];
  readonly #widths: number[] = [];
  readonly #lines: number[] = [];
  readonly #time: number[] = [];
  #wholeTimes = true;
  readonly #values: number[][];
  lastLine = 0;

  constructor(path: string, map: ReadMap) {
    this.#path = path;
    this.#map = map;
    this.#clock = new RowClock(map.time);
    this.#values = map.columns.map(() => []);
  }

  get count(): number {
    return this.#widths.length;
  }

  take({ record, info }: CsvRecord): void {
    this.lastLine = info.lines;
    if (record.length === 1 && record[0] === "" && this.#names.length > 0) this.#blank(info.lines);
    else if (this.#names.length === 0) this.#lookForHeader(record);
    else if (this.#isHeader(record)) this.#repeated(info.lines);
    else if (this.#map.long === null) this.#row(record, info.lines);
    else this.#longRow(record, info.lines);
  }

  /** Names that the map wants to stand in the header. */
  get #wanted(): string[] {
    const { time, long, columns } = this.#map;
    if (long === null) return [time.column, ...columns.map((c) => c.column)];
    return [time.column, long.name, long.value, ...(long.unit === null ? [] : [long.unit])];
  }

  #lookForHeader(record: readonly string[]): void {
    const names = record.map(headerName);
    if (this.#wanted.every((name) => names.includes(name))) this.#header(record);
    else {
      this.#above.push(record);
      if (this.#above.length >= mostAbove) this.#noHeader();
    }
  }

  /** No row has all the names: told of the one that has most of them. */
  #noHeader(): void {
    const has = (row: readonly string[]): number =>
      this.#wanted.filter((name) => row.map(headerName).includes(name)).length;
    const [best] = [...this.#above].sort((a, b) => has(b) - has(a));
    if (best !== undefined) this.#header(best);
  }

  #isHeader(record: readonly string[]): boolean {
    return this.#names.every((name, i) => headerName(record[i] ?? "") === name);
  }

  #repeated(line: number): void {
    this.#tally.add(
      "header",
      line,
      (n, at) => `${counted(n, "repeated header row")} skipped, the first is line ${at}`,
    );
  }

  #header(record: readonly string[]): void {
    const names = record.map(headerName);
    while (names.at(-1) === "") names.pop();
    const wanted = this.#wanted;
    const missing = wanted.filter((name) => !names.includes(name));
    if (missing.length > 0) {
      throw new CranksideError("csv-columns", "the CSV lacks columns that the map names", {
        expected: brief(missing.map((name) => nearTo(name, names))),
        found: names.every((name) => name === "") ? "no names" : brief(names),
        where: `${this.#path}, line ${this.lastLine}`,
      });
    }
    const twice = wanted.find((name) => names.indexOf(name) !== names.lastIndexOf(name));
    if (twice !== undefined) {
      throw new CranksideError("csv-columns", "the CSV has two columns of one name", {
        expected: "each name once",
        found: JSON.stringify(twice),
        where: `${this.#path}, line ${this.lastLine}`,
      });
    }
    const unknown = names.filter((name) => !wanted.includes(name) && !this.#map.ignored.includes(name));
    if (unknown.length > 0 && this.#map.long === null) {
      this.#tally.add(
        "unknown",
        this.lastLine,
        () => `columns that the map does not name are skipped: ${brief(unknown)}`,
      );
    }
    this.#names = names;
    this.#places = wanted.map((name) => names.indexOf(name));
    this.#datePlace = names.indexOf(this.#map.time.date?.column ?? "");
  }

  #blank(line: number): void {
    this.#tally.add("blank", line, (n, at) => `${counted(n, "blank line")} skipped, the first is line ${at}`);
  }

  #row(record: readonly string[], line: number): void {
    const [timePlace = 0, ...places] = this.#places;
    const time = this.#timeOf(record, timePlace);
    this.#widths.push(record.length);
    this.#lines.push(line);
    this.#time.push(time);
    places.forEach((place, i) => this.#values[i]?.push(this.#valueOf(record[place], i, line)));
  }

  /** One reading a row: the other columns have none in it. */
  #longRow(record: readonly string[], line: number): void {
    const [timePlace = 0, namePlace = 0, valuePlace = 0, unitPlace] = this.#places;
    const name = headerName(record[namePlace] ?? "");
    const column = this.#map.columns.findIndex((c) => c.column === name);
    if (column < 0 && !this.#map.ignored.includes(name)) {
      const shown = JSON.stringify(name.slice(0, 30));
      this.#tally.add(
        `name ${name}`,
        line,
        (n, at) =>
          `${counted(n, "reading")} of ${shown}, which the map does not name, skipped; the first is line ${at}`,
      );
    }
    this.#widths.push(record.length);
    this.#lines.push(line);
    this.#time.push(this.#timeOf(record, timePlace));
    const unit = unitPlace === undefined ? "" : (record[unitPlace] ?? "");
    const cell = `${record[valuePlace] ?? ""}${unit === "" ? "" : ` ${unit}`}`;
    this.#values.forEach((values, i) =>
      values.push(i === column ? this.#valueOf(cell.trim(), i, line) : Number.NaN),
    );
  }

  #valueOf(cell: string | undefined, column: number, line: number): number {
    const { column: name = "", offset = 0, factor = 1, unit } = this.#map.columns[column] ?? {};
    if (cell === undefined) return Number.NaN;
    if (cell === "") {
      this.#tally.add(
        `empty ${name}`,
        line,
        (n, at) => `${name}: ${counted(n, "empty cell")}, the first in line ${at}`,
      );
      return Number.NaN;
    }
    const found = cellOf(cell, this.#map.decimal);
    const value = found.number;
    if (!Number.isNaN(value) && found.unit !== "" && unit !== undefined) {
      const own = conversionOf(found.unit, unit);
      if (own !== null) return (value - own.offset) / own.factor;
      this.#tally.add(
        `unit ${name} ${found.unit}`,
        line,
        (n, at) =>
          `${name}: ${counted(n, "cell")} in ${found.unit}, which is no unit of ${this.#map.columns[column]?.channel ?? ""}, skipped; the first is line ${at}`,
      );
      return Number.NaN;
    }
    if (Number.isNaN(value)) {
      const shown = JSON.stringify(cell.slice(0, 30));
      this.#tally.add(
        `text ${name}`,
        line,
        (n, at) =>
          `${name}: ${counted(n, "cell")} without a number skipped, the first is ${shown} in line ${at}`,
      );
    }
    return (value - offset) / factor;
  }

  /** Seconds. */
  #timeOf(record: readonly string[], place: number): number {
    const cell = record[place] ?? "";
    switch (this.#map.time.unit) {
      case "ISO 8601":
        this.#wholeTimes = false;
        return isoMs(cell) / 1000;
      case "clock":
        return this.#clock.take(this.#whole(clockSeconds(cell)), record[this.#datePlace] ?? "");
      case "s":
      case "epoch s":
        return this.#timeNumber(cell);
      case "ms":
      case "epoch ms":
        return this.#timeNumber(cell) / 1000;
      case "min":
        return this.#timeNumber(cell) * 60;
    }
  }

  #timeNumber(cell: string): number {
    return this.#whole(numberOf(cell, this.#map.decimal));
  }

  #whole(value: number): number {
    if (!Number.isNaN(value) && !Number.isInteger(value)) this.#wholeTimes = false;
    return value;
  }

  /** Drops rows of a width that is not the usual one, and rows without time. */
  finish(end: { endsOpen: boolean; damage: string | null }): Table {
    if (this.#names.length === 0) this.#noHeader();
    if (this.#names.length === 0) {
      throw new CranksideError("csv-columns", "the CSV has no header line", {
        expected: "column names in the first line",
        found: "an empty file",
        where: this.#path,
      });
    }
    const usual = mostFrequent(this.#widths);
    this.#tellWidth(usual);
    const kept: number[] = [];
    this.#widths.forEach((width, row) => {
      const line = this.#lines[row] ?? 0;
      if (width !== usual) {
        this.#tally.add(
          "width",
          line,
          (n, at) =>
            `${counted(n, "row")} with more or fewer than ${usual} fields dropped, the first is line ${at} with ${width}`,
        );
      } else if (Number.isNaN(this.#time[row])) {
        this.#tally.add(
          "time",
          line,
          (n, at) => `${counted(n, "row")} without a time dropped, the first is line ${at}`,
        );
      } else kept.push(row);
    });
    if (kept.length === 0) {
      throw new CranksideError("csv-values", "the CSV has no row that can be used", {
        expected: `rows with a time in ${this.#map.time.unit} under ${this.#map.time.column}`,
        found: counted(this.#widths.length, "row"),
        where: this.#path,
      });
    }
    if (end.endsOpen) this.#distrustLast(kept);
    return {
      time: kept.map((row) => this.#time[row] ?? 0),
      wholeTimes: this.#wholeTimes,
      dated: this.#clock.dated,
      values: this.#values.map((column) => kept.map((row) => column[row] ?? Number.NaN)),
      columns: this.#map.columns,
      notices: [...(end.damage === null ? [] : [end.damage]), ...this.#tally.notices],
    };
  }

  #tellWidth(usual: number): void {
    const names = this.#names.length;
    const line = this.#lines[0] ?? 0;
    if (usual < names) {
      const without = brief(this.#names.slice(usual));
      this.#tally.add(
        "short",
        line,
        () => `rows have ${usual} fields under ${names} names: no values for ${without}`,
      );
    }
    if (usual > names + 1) {
      this.#tally.add(
        "long",
        line,
        () => `rows have ${usual} fields under ${names} names: the last ones are skipped`,
      );
    }
  }

  /** A last line without line end may have been cut within its last number, which would then be a wrong one. */
  #distrustLast(kept: readonly number[]): void {
    const row = this.#widths.length - 1;
    if (kept.at(-1) !== row) return;
    const lastPlace = (this.#widths[row] ?? 0) - 1;
    const column = this.#places.slice(1).indexOf(lastPlace);
    const values = this.#values[column];
    if (values === undefined) return;
    values[row] = Number.NaN;
    this.#tally.add(
      "open",
      this.#lines[row] ?? 0,
      (_, at) => `line ${at}, the last one, does not end: its last value may be cut and is skipped`,
    );
  }
}

/** A name that is missing, with the one of the file that is nearest to it. */
function nearTo(name: string, names: readonly string[]): string {
  const near = nearestOf(name, names);
  return near === null ? name : `${name} (near to it: ${near})`;
}

function brief(names: readonly string[]): string {
  const first = names.slice(0, 6).join(", ");
  return names.length > 6 ? `${first} and ${names.length - 6} more` : first;
}
