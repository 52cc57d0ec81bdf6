/** The readings of a recording as rows: channel by channel, each in the order of time. */
import { inWords } from "../../../shared/decode.ts";
import type { Findings } from "../../analyst/index.ts";
import type { Reading } from "../../reading/index.ts";
import type { TableFile } from "./tableFile.ts";

export interface Dated {
  /** Microseconds since 1970 of t = 0. */
  readonly startMicros: number;
  readonly zone: string;
}

/** From the time with its zone that a recording's header or a job gives. */
export function datedBy(iso: string): Dated {
  const zone = /(?:Z|[+-]\d\d:?\d\d)$/.exec(iso)?.[0] ?? "Z";
  return { startMicros: Date.parse(iso) * 1000, zone };
}

/** Whole microseconds: times in a recording have no more. */
export const micros = (ms: number): number => Math.round(ms * 1000);

export function addReadings(
  table: TableFile,
  reading: Reading,
  how: { readonly recording: string; readonly dated: Dated; readonly regimes: Findings["regimes"] },
): void {
  const { recording, dated, regimes } = how;
  for (const series of reading.channels.all()) {
    const info = reading.info(series.channel);
    const named = info.unit === "state" || info.unit === "bits" || info.unit === "code";
    const words = new Map<number, string>();
    const module = series.module === "" ? null : series.module;
    const { times, values } = series;
    let at = 0;
    for (let i = 0; i < series.length; i++) {
      const t = times[i] ?? 0;
      const value = values[i] ?? Number.NaN;
      while (at < regimes.length && (regimes[at]?.to ?? 0) <= t) at += 1;
      const span = regimes[at];
      const answered = !Number.isNaN(value);
      let word: string | null = null;
      if (named && answered) {
        word = words.get(value) ?? inWords(info, value, "metric");
        words.set(value, word);
      }
      const us = micros(t);
      table.add([
        recording,
        module,
        series.channel,
        BigInt(us),
        BigInt(dated.startMicros + us),
        dated.zone,
        answered ? value : null,
        info.unit,
        word,
        span !== undefined && span.from <= t ? span.regime : null,
      ]);
    }
  }
}
