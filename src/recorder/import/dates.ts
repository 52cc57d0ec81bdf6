/** Days as logs write them, in a column beside the time of day, before it in one cell, or above the table. Pure. */
import type { DateOrder } from "../../../shared/logLook.ts";

const written = /^(\d{1,4})([./-])(\d{1,2})\2(\d{1,4})(?![\d./-])/;
const anywhere = /(?<![\d./-])\d{1,4}([./-])\d{1,2}\1\d{1,4}(?![\d./-])/g;
export const daySeconds = 86_400;
const halfDay = daySeconds / 2;
/** Two clocks of one logger are seldom further apart, s. */
const earlyBy = 30;

/** Days since 1970-01-01 of what begins with a date in this order; NaN for what is none. */
export function dayOf(text: string, order: DateOrder): number {
  const found = written.exec(text.trim());
  if (found === null) return Number.NaN;
  const [, a = "", , b = "", c = ""] = found;
  const [year, month, day] = order === "ymd" ? [a, b, c] : order === "dmy" ? [c, b, a] : [c, a, b];
  if (day.length > 2 || month.length > 2 || (year.length !== 4 && (order === "ymd" || year.length !== 2)))
    return Number.NaN;
  const full = year.length === 2 ? 2000 + Number(year) : Number(year);
  const ms = Date.UTC(full, Number(month) - 1, Number(day));
  const back = new Date(ms);
  const is = back.getUTCMonth() === Number(month) - 1 && back.getUTCDate() === Number(day);
  return is && full >= 1970 && full < 2200 ? ms / 1000 / daySeconds : Number.NaN;
}

/**
 * The order in which day, month and year stand; `unclear` where two would do, null where they are no dates. Dots have the
 * day first (common practice). Where days change from row to row, the order under which they do so one by one is meant.
 */
export function orderOf(cells: readonly string[]): DateOrder | "unclear" | null {
  const filled = [...new Set(cells.filter((cell) => cell !== ""))];
  if (filled.length === 0) return null;
  const days = (order: DateOrder): number[] => filled.map((cell) => dayOf(cell, order));
  const orders = (["ymd", "dmy", "mdy"] as const).filter((order) =>
    days(order).every((day) => !Number.isNaN(day)),
  );
  if (orders.length <= 1) return orders[0] ?? null;
  if (filled.every((cell) => cell.includes("."))) return "dmy";
  const oneByOne = orders.filter((order) =>
    days(order).every((day, i, all) => i === 0 || day - (all[i - 1] ?? day) <= 1),
  );
  const rising = oneByOne.filter((order) =>
    days(order).every((day, i, all) => i === 0 || day >= (all[i - 1] ?? day)),
  );
  return rising.length === 1 ? (rising[0] ?? "unclear") : "unclear";
}

/** The one day that stands in these words, as `2024-05-31`; null where there is none, or more than one could be meant. */
export function dayIn(words: readonly string[]): string | null {
  const found = words.flatMap((text) => [...text.matchAll(anywhere)].map(([date]) => date));
  const days = found.map((date) => {
    const order = orderOf([date]);
    return order === null || order === "unclear" ? Number.NaN : dayOf(date, order);
  });
  const [day] = days;
  return day === undefined || Number.isNaN(day) || days.some((other) => other !== day) ? null : isoDay(day);
}

const isoDay = (day: number): string => new Date(day * daySeconds * 1000).toISOString().slice(0, 10);

/** Milliseconds since 1970 in this machine's zone, of seconds that were counted as if there were no zones. */
export function localMs(seconds: number): number {
  const at = new Date(seconds * 1000);
  const day = [at.getUTCFullYear(), at.getUTCMonth(), at.getUTCDate()] as const;
  return new Date(
    ...day,
    ...([at.getUTCHours(), at.getUTCMinutes(), at.getUTCSeconds(), at.getUTCMilliseconds()] as const),
  ).getTime();
}

interface Dated {
  /** How the days beside the times are written; null where there are none. */
  readonly date: { readonly order: DateOrder | "unclear" } | null;
  /** Of the first row, from above the table; null where nothing told it. */
  readonly day: string | null;
}

/** Times of day, each with the day beside it, that go on past midnight: also where a row says none, or says it late. */
export class RowClock {
  readonly #order: DateOrder | null;
  #day: number;
  #first = Number.NaN;
  #last = Number.NaN;
  /** The day is known, not only how they follow each other. */
  dated: boolean;

  constructor({ date, day }: Dated) {
    this.#order = date === null || date.order === "unclear" ? null : date.order;
    const above = day === null ? Number.NaN : dayOf(day, "ymd");
    this.dated = !Number.isNaN(above);
    this.#day = this.dated ? above : 0;
  }

  /** Seconds, from 1970 on where the day is known, else from the midnight before the first one. */
  take(seconds: number, date: string): number {
    if (Number.isNaN(seconds)) return seconds;
    const said = this.#order === null ? Number.NaN : dayOf(date, this.#order);
    const begins = Number.isNaN(this.#last);
    // A day that is told behind rows without one would tear them apart.
    if (!Number.isNaN(said) && (this.dated || begins)) {
      this.#day = said;
      this.dated = true;
      // It may be written a moment late, or early.
      if (this.#ahead(seconds) < -halfDay) this.#day += 1;
      else if (Math.abs(this.#ahead(seconds) - daySeconds) < earlyBy) this.#day -= 1;
    } else if (this.#ahead(seconds) < -halfDay) this.#day += 1;
    else if (this.#ahead(seconds) > halfDay && this.#day > this.#first) this.#day -= 1;
    if (begins) this.#first = this.#day;
    this.#last = this.#day * daySeconds + seconds;
    return this.#last;
  }

  /** Seconds beyond the row above; NaN for the first one. */
  #ahead(seconds: number): number {
    return this.#day * daySeconds + seconds - this.#last;
  }
}
