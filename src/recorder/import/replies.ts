/**
 * A log of what modules said, `seconds:identifier and data` in hexadecimal digits: service 01 without its 41, as some
 * loggers write it. Each reply is decoded by the program's own table. The lines themselves are no exchanges of ours and
 * are not made to look like them: readings come of them, and what could not be read is counted.
 */
import { decodeParameter } from "../../../shared/decode.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { parameterByPid } from "../../../shared/parameters.ts";
import type { SampleEvent } from "../../../shared/recording/format.ts";
import { counted, Tally } from "./tally.ts";

const line = /^\s*(\d+(?:[.,]\d+)?)\s*[:;,\t ]\s*(?:41\s?)?((?:[0-9a-f]{2}\s?){2,})[,;]?\s*$/i;

/** Most lines of it are replies. */
export function isReplies(text: string): boolean {
  const lines = text
    .split(/\r?\n/)
    .slice(0, -1)
    .filter((one) => one.trim() !== "");
  if (lines.length < 5) return false;
  const found = lines.map((one) => line.exec(one)).filter((one) => one !== null);
  // Numbers alone would do for a table of two columns: a reply has the length of its parameter.
  const fits = found.filter((one) => lengthFits(one[2] ?? "")).length;
  return (
    fits > lines.length * 0.6 && found.some((one) => one[0].includes(":") || /[a-f]/i.test(one[2] ?? ""))
  );
}

function lengthFits(digits: string): boolean {
  const bytes = digits.replace(/\s/g, "").length / 2;
  const parameter = parameterByPid.get(Number.parseInt(digits.slice(0, 2), 16));
  return parameter !== undefined && parameter.bytes === bytes - 1;
}

export interface Replies {
  readonly rows: number;
  readonly samples: readonly SampleEvent[];
  readonly notices: readonly string[];
}

/** Throws `csv-values` where no line is a reply. */
export function readReplies(text: string, where: string): Replies {
  const tally = new Tally();
  const samples: SampleEvent[] = [];
  let zero = Number.NaN;
  let last = 0;
  let rows = 0;
  text.split(/\r?\n/).forEach((one, i) => {
    if (one.trim() === "") return;
    const found = line.exec(one);
    if (found === null) {
      tally.add(
        "other",
        i + 1,
        (n, at) => `${counted(n, "line")} skipped without a reply, the first is line ${at}`,
      );
      return;
    }
    const seconds = Number((found[1] ?? "").replace(",", "."));
    if (Number.isNaN(zero)) zero = seconds;
    const t = Math.round((seconds - zero) * 1000);
    if (t < last) {
      tally.add(
        "back",
        i + 1,
        (n, at) => `${counted(n, "line")} dropped: earlier than a line above, the first is line ${at}`,
      );
      return;
    }
    last = t;
    const digits = (found[2] ?? "").replace(/\s/g, "");
    const data = Uint8Array.from(digits.match(/../g) ?? [], (two) => Number.parseInt(two, 16));
    const parameter = parameterByPid.get(data[0] ?? -1);
    const number = digits.slice(0, 2).toUpperCase();
    if (parameter === undefined || parameter.bytes !== data.length - 1) {
      tally.add(
        `pid ${number}`,
        i + 1,
        (n, at) =>
          `${counted(n, "reply")} of parameter ${number} skipped: not in the table, or of another length; the first is line ${at}`,
      );
      return;
    }
    rows += 1;
    for (const { value, number: v } of decodeParameter(parameter, data.subarray(1)))
      samples.push({ k: "s", t, ch: value.channel, v, u: value.unit });
  });
  if (rows === 0) {
    throw new CranksideError("csv-values", "no line of this file is a reply", {
      expected: "lines of seconds, a colon, and hexadecimal digits",
      found: JSON.stringify(text.slice(0, 40)),
      where,
    });
  }
  return { rows, samples, notices: tally.notices };
}
