import { Reading } from "../../src/reading/index.ts";
import { RecordingReader, type ReaderSink } from "../../shared/recording/reader.ts";
import { eventLine } from "../../shared/recording/format.ts";
import { line, medianMs } from "./figures.ts";
import { firstLine } from "./longRecording.ts";

/** Replies to the usual questions on CAN 11/500: values by hand, repeated. */
const dialogue: readonly (readonly [string, string])[] = [
  ["010C1", "7E8 04 41 0C 0C 97"],
  ["010B1", "7E8 03 41 0B 23"],
  ["ATRV", "13.9V"],
  ["01111", "7E8 03 41 11 2B"],
  ["01051", "7E8 03 41 05 7B"],
  ["01061", "7E8 03 41 06 82"],
];

function hour(): string {
  const lines = [firstLine()];
  for (let i = 0; i < 180_000; i++) {
    const [ask, reply] = dialogue[i % dialogue.length] ?? ["ATRV", "12.4V"];
    lines.push(eventLine({ k: "x", t: i * 20, ask, lines: [reply], first: 12.345, end: 15.678 }));
  }
  return lines.join("");
}

/** An hour at 50 exchanges a second: read and decoded, against splitting it and parsing each line. */
export async function measureReading(): Promise<void> {
  const text = hour();
  const bytes = new TextEncoder().encode(text);
  const floor = await medianMs(5, () => {
    for (const one of text.split("\n")) if (one !== "") JSON.parse(one);
  });
  const ours = await medianMs(5, () => {
    const reading = new Reading("measure");
    reading.push(bytes);
    reading.finish();
  });
  const eachLine = await medianMs(3, () => {
    const { sink } = new Reading("measure");
    const byLine: ReaderSink = {
      header: (header) => sink.header(header),
      event: (event, at) => sink.event(event, at),
      notice: (notice) => sink.notice(notice),
    };
    const reader = new RecordingReader(byLine, "measure");
    reader.push(bytes);
    reader.finish();
  });
  const split = { what: "split and JSON.parse", ms: floor };
  line("an hour at 50 exchanges a second, read and decoded", ours, split);
  line("the same, were each line taken apart as an unusual one", eachLine, split);
}
