/**
 * Looks at the beginning of a log from elsewhere and says what it is: separators, header, time, units, which column is
 * which channel. Pure: text comes in, and nothing is read or written.
 */
import { parse } from "csv-parse/sync";
import { channelInfo } from "../../../shared/decode.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { delimiters, withChannel, type LogLook, type LookedColumn } from "../../../shared/logLook.ts";
import { guessChannel, nameAndUnit } from "../../../shared/nameGuess.ts";
import { parameterByPid } from "../../../shared/parameters.ts";
import { conversionOf, unitSymbol } from "../../../shared/unitNames.ts";
import { cellOf, decimalOf } from "./cells.ts";
import { looksHeld } from "./lookHeld.ts";
import { dayOfTable, timeOf, type FoundTime } from "./lookTime.ts";
import { headerName } from "./map.ts";
import { isReplies } from "./replies.ts";

type Encoding = LogLook["encoding"];
type Delimiter = LogLook["delimiter"];
type Row = readonly string[];

/** Header rows are looked for among the first so many. */
const mostAbove = 40;
const mostFirst = 4;

/** `text` is the beginning of the file, `encoding` how it was read. Throws `csv-columns` or `csv-values`. */
export function lookAt(text: string, { where, encoding }: { where: string; encoding: Encoding }): LogLook {
  if (isReplies(text)) return repliesLook(text, encoding);
  const shape = shapeOf(text);
  if (shape === null) {
    throw new CranksideError("csv-columns", "no table was found in this file", {
      expected: "a row of column names with rows of values under it",
      found: JSON.stringify(text.slice(0, 60)),
      where,
    });
  }
  const { delimiter, header, units, rows, above } = shape;
  const decimal = decimalOf(rows.flat(), delimiter);
  const columns = header.map((name, c) => ({ name, cells: rows.map((row) => row[c] ?? "") }));
  const found = timeOf(columns, decimal);
  const time = found === null ? null : dayOfTable(found, columns, above);
  if (time === null) {
    throw new CranksideError("csv-columns", "no column of this file gives the time", {
      expected: "a column of seconds, milliseconds, times of day or dates with a time",
      found: header.join(", ").slice(0, 300),
      where,
      advice: "Give the time a column of its own, named Time.",
    });
  }
  const rest = columns.filter(({ name }) => name !== time.column && name !== "");
  const about = { encoding, delimiter, decimal, header: [...header] };
  const long = longOf(rest, decimal);
  if (long !== null) return longLook({ about, time, rest, long });
  const numbers = rest.map(({ cells }) => cells.map((cell) => cellOf(cell, decimal).number));
  const held = looksHeld(numbers);
  const looked = rest.map((column, i) =>
    lookedColumn(column, {
      unitRow: units?.[header.indexOf(column.name)] ?? "",
      decimal,
      numbers: numbers[i] ?? [],
    }),
  );
  return {
    ...{ form: "table", ...about, held },
    time: { ...told(time), held: held && time.held },
    columns: once(looked, header).map((column) =>
      column.name === time.date?.column
        ? { ...column, channel: null, how: "none", unit: null, about: "the day of each row" }
        : column,
    ),
  };
}

const told = ({ column, unit, sure, rows, held, first, date, day }: FoundTime): LogLook["time"] => ({
  ...{ column, unit, sure, rows, held },
  ...(date === undefined ? {} : { date }),
  ...(day === undefined ? {} : { day }),
  first: [...first],
});

interface Shape {
  readonly delimiter: Delimiter;
  readonly header: Row;
  /** A row of units under the header; null where there is none. */
  readonly units: Row | null;
  readonly rows: readonly Row[];
  /** What stands above the header. */
  readonly above: readonly Row[];
}

function cellsOf(text: string, delimiter: Delimiter): Row[] {
  return parse(text, {
    ...{ delimiter, record_delimiter: ["\r\n", "\n", "\r"], bom: true, trim: true },
    ...{ relax_column_count: true, relax_quotes: true, skip_empty_lines: true, max_record_size: 1 << 20 },
  });
}

/** The separator under which most cells lie in rows that are as wide as their header. */
function shapeOf(text: string): Shape | null {
  let best: { shape: Shape; score: number } | null = null;
  // The last line may be cut in the middle.
  const whole = text.slice(0, text.lastIndexOf("\n") + 1) || text;
  for (const delimiter of delimiters) {
    let rows: Row[];
    try {
      rows = cellsOf(whole, delimiter);
    } catch {
      // Quotes that do not fit this separator: it is another one.
      continue;
    }
    const at = headerRow(rows);
    const header = at < 0 ? undefined : rows[at]?.map(headerName);
    if (header === undefined || header.filter((name) => name !== "").length < 2) continue;
    while (header.at(-1) === "") header.pop();
    const isHeader = (row: Row): boolean =>
      row.slice(0, header.length).every((cell, i) => headerName(cell) === header[i]);
    const below = rows.slice(at + 1).filter((row) => !isHeader(row));
    const [first] = below;
    const units = first !== undefined && isUnitRow(first) ? first : null;
    const data = units === null ? below : below.slice(1);
    const fits = data.filter((row) => isUnder(row, header)).length;
    const score = data.length === 0 ? 0 : (fits / data.length) * Math.min(header.length, 30);
    if (data.length > 0 && score > (best?.score ?? 0))
      best = { shape: { delimiter, header, units, rows: data, above: rows.slice(0, at) }, score };
  }
  return best?.shape ?? null;
}

/** Words over figures: the first row without a number whose next rows have some; -1 where there is none. */
function headerRow(rows: readonly Row[]): number {
  const numbers = (row: Row | undefined): number =>
    (row ?? []).filter((cell) => /^[-+]?\d[\d.,:]*/.test(cell)).length;
  const words = (row: Row): number => row.filter((cell) => /[^\d\s.,:;+-]/.test(cell)).length;
  return rows
    .slice(0, mostAbove)
    .findIndex(
      (row, i) =>
        row.length > 1 &&
        numbers(row) === 0 &&
        words(row) >= 2 &&
        rows.slice(i + 1, i + 4).some((next) => numbers(next) > 0 && isUnder(next, row)),
    );
}

/** Loggers end rows with a separator, and some leave the last columns out. */
function isUnder(row: Row, header: Row): boolean {
  return row.length <= header.length + 1 && row.length >= Math.min(header.length - 1, header.length * 0.75);
}

function isUnitRow(row: Row): boolean {
  const filled = row.map((cell) => cell.replace(/^[[(]|[\])]$/g, "")).filter((cell) => cell !== "");
  return filled.length > 0 && filled.filter((cell) => unitSymbol(cell) !== null).length > filled.length / 2;
}

interface Cells {
  readonly name: string;
  readonly cells: readonly string[];
}

const firstOf = (cells: readonly string[]): string[] =>
  cells.filter((cell) => cell !== "").slice(0, mostFirst);

/** The unit that most cells carry behind their numbers, where each carries one: empty where they do not. */
function unitInCells(cells: readonly string[], decimal: "." | ","): string {
  const found = new Map<string, number>();
  for (const cell of cells) {
    if (cell === "") continue;
    const { unit } = cellOf(cell, decimal);
    if (unit === "") return "";
    found.set(unit, (found.get(unit) ?? 0) + 1);
  }
  return [...found].sort((a, b) => b[1] - a[1])[0]?.[0] ?? "";
}

interface Context {
  readonly unitRow: string;
  readonly decimal: "." | ",";
  readonly numbers: readonly number[];
}

function lookedColumn({ name, cells }: Cells, { unitRow, decimal, numbers }: Context): LookedColumn {
  const said = nameAndUnit(name);
  const inName = unitSymbol(said.unit) === null ? "" : said.unit;
  const unit = [
    inName,
    unitRow.replace(/^[[(]|[\])]$/g, ""),
    unitInCells(cells, decimal),
    trailingUnit(said.name),
  ].find((one) => one !== "" && unitSymbol(one) !== null);
  const from = guessFor(trimmedName(said.name), unit);
  const column = { name, nearest: [...from.nearest], first: firstOf(cells) };
  const none = (about: string): LookedColumn => ({
    ...column,
    channel: null,
    how: "none",
    unit: null,
    about,
  });
  if (numbers.every((value) => Number.isNaN(value))) return none("holds no numbers");
  if (from.channel === null) return none("no channel by this name is known");
  const about = impossible(from.channel, numbers);
  if (about !== "") return { ...none(about), nearest: [from.channel, ...from.nearest].slice(0, 3) };
  const choice = withChannel({ channel: null, unit: unit ?? null }, from.channel);
  return { ...column, channel: from.channel, how: from.how, unit: choice.unit, about: "" };
}

/** `Coolant_C`, `Speed kmh`: a unit as the last word of a name. */
function trailingUnit(name: string): string {
  const last = /[\s_]([^\s_]+)$/.exec(name)?.[1] ?? "";
  return last.length > 1 || /^[CFV]$/.test(last) ? last : "";
}

function trimmedName(name: string): string {
  const last = trailingUnit(name);
  return last !== "" && unitSymbol(last) !== null && unitSymbol(last) !== "rpm"
    ? name.slice(0, -last.length - 1)
    : name;
}

/** By the name; where the unit does not fit, the nearest channel that it fits. */
function guessFor(name: string, unit: string | undefined): ReturnType<typeof guessChannel> {
  const guess = guessChannel(name);
  const fits = (channel: string): boolean => {
    const info = channelInfo(channel);
    return info !== undefined && (unit === undefined || conversionOf(unit, info.unit) !== null);
  };
  if (guess.channel === null || fits(guess.channel)) return guess;
  const other = guess.nearest.find(fits) ?? null;
  const nearest = [guess.channel, ...guess.nearest].filter((channel) => channel !== other).slice(0, 3);
  return { channel: other, how: other === null ? "none" : "likely", nearest };
}

/** What no engine shows: a column that a logger filled without reading. */
function impossible(channel: string, numbers: readonly number[]): string {
  const found = numbers.filter((value) => !Number.isNaN(value));
  if (channelInfo(channel)?.unit === "lambda" && found.every((value) => value === 0))
    return "0 in every row, which no engine runs at";
  return "";
}

/** Of two columns that are one channel the surer one stays; names that stand twice cannot be told apart. */
function once(columns: readonly LookedColumn[], header: Row): LookedColumn[] {
  const rank = { kept: 3, sure: 2, likely: 1, none: 0 } as const;
  return columns.map((column, i) => {
    if (header.filter((name) => name === column.name).length > 1)
      return { ...column, channel: null, how: "none", unit: null, about: "two columns have this name" };
    const better = columns.some(
      (other, j) =>
        column.channel !== null &&
        other.channel === column.channel &&
        j !== i &&
        (rank[other.how] > rank[column.how] || (rank[other.how] === rank[column.how] && j < i)),
    );
    if (!better) return column;
    const nearest = [column.channel ?? "", ...column.nearest].slice(0, 3);
    return {
      ...column,
      channel: null,
      how: "none",
      unit: null,
      nearest,
      about: "another column is nearer to that channel",
    };
  });
}

type Long = NonNullable<LogLook["long"]>;

/** A row a reading: a column of a few names that come again and again, one of numbers, and perhaps one of units. */
function longOf(columns: readonly Cells[], decimal: "." | ","): Long | null {
  if (columns.length < 2 || columns.length > 6) return null;
  const share = (cells: readonly string[], is: (cell: string) => boolean): number =>
    cells.length === 0 ? 0 : cells.filter(is).length / cells.length;
  const repeats = ({ cells }: Cells): boolean => {
    const kinds = new Set(cells).size;
    return kinds >= 2 && kinds <= 120 && kinds * 2 <= cells.length;
  };
  const known = ({ cells }: Cells): boolean =>
    share(
      [...new Set(cells)],
      (cell) => guessChannel(trimmedName(nameAndUnit(cell).name)).channel !== null,
    ) >= 0.5;
  const numbered = ({ name, cells }: Cells): boolean =>
    /^(?:number|pid|parameter|id|no)$/i.test(name) &&
    share(cells, (cell) => /^(?:0x)?[0-9a-f]{1,4}$/i.test(cell)) > 0.95;
  const isText = ({ cells }: Cells): boolean => share(cells, (cell) => /^\D/.test(cell)) > 0.95;
  const name = columns.find((one) => repeats(one) && ((isText(one) && known(one)) || numbered(one)));
  const unit = columns.find(
    (one) =>
      one !== name &&
      share(one.cells, (cell) => cell === "" || unitSymbol(cell) !== null) > 0.95 &&
      share(one.cells, (c) => c !== "") > 0.2 &&
      isText({ ...one, cells: one.cells.filter((c) => c !== "") }),
  );
  const value = columns.find(
    (one) =>
      one !== name &&
      one !== unit &&
      share(one.cells, (cell) => !Number.isNaN(cellOf(cell, decimal).number)) > 0.5,
  );
  if (name === undefined || value === undefined) return null;
  return { name: name.name, value: value.name, ...(unit === undefined ? {} : { unit: unit.name }) };
}

function longLook(found: {
  readonly about: Pick<LogLook, "encoding" | "delimiter" | "decimal" | "header">;
  readonly time: FoundTime;
  readonly rest: readonly Cells[];
  readonly long: Long;
}): LogLook {
  const { about, time, rest, long } = found;
  const of = (name: string | undefined): readonly string[] =>
    rest.find((one) => one.name === name)?.cells ?? [];
  const [names, values, units] = [of(long.name), of(long.value), of(long.unit)];
  const kinds = [...new Set(names)].filter((name) => name !== "");
  const base = numberBase(kinds, names, units);
  const columns = kinds.map((name): LookedColumn => {
    const rows = [...names.keys()].filter((row) => names[row] === name);
    const cells = rows.map((row) => values[row] ?? "");
    const numbers = cells.map((cell) => cellOf(cell, about.decimal).number);
    const unitRow = unitInCells(
      rows.map((row) => `1 ${units[row] ?? ""}`.trim()),
      about.decimal,
    );
    const one = { unitRow, decimal: about.decimal, numbers };
    const channel = base === null ? null : channelOfNumber(name, base);
    if (channel === null) return lookedColumn({ name, cells }, one);
    return { ...lookedColumn({ name: channel, cells }, one), name };
  });
  return {
    form: "long",
    ...about,
    time: { ...told(time), held: false, rows: "as-timed" },
    held: false,
    columns: once(columns, []),
    long,
  };
}

/** Parameter numbers are written to the base of 16 or of 10: the one under which more units fit. */
function numberBase(kinds: readonly string[], names: Row, units: Row): 10 | 16 | null {
  if (!kinds.every((name) => /^(?:0x)?[0-9a-f]{1,4}$/i.test(name))) return null;
  const fits = (base: 10 | 16): number =>
    kinds.filter((name) => {
      const info = channelInfo(channelOfNumber(name, base) ?? "");
      const unit = units[names.indexOf(name)] ?? "";
      return info !== undefined && (unit === "" || conversionOf(unit, info.unit) !== null);
    }).length;
  return fits(16) >= fits(10) ? 16 : 10;
}

/** The channel of a parameter with one value: `0C`, `0x0C`, `010C`, `12`. */
function channelOfNumber(name: string, base: 10 | 16): string | null {
  const digits = name.replace(/^0x/i, "");
  const pid = Number.parseInt(base === 16 && digits.length === 4 ? digits.slice(2) : digits, base);
  const values = parameterByPid.get(pid)?.values ?? [];
  return values[0]?.channel ?? null;
}

function repliesLook(text: string, encoding: Encoding): LogLook {
  const first = text
    .split(/\r?\n/)
    .filter((line) => line !== "")
    .slice(0, mostFirst);
  return {
    ...{ form: "replies", encoding, delimiter: ",", decimal: ".", header: [], held: false, columns: [] },
    time: { column: "", unit: "s", sure: true, rows: "as-timed", held: false, first },
  };
}
