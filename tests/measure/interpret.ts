import { Interpreter } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { line, medianMs, quantile } from "./figures.ts";
import { longRecording } from "./longRecording.ts";

const batchMs = 250;

/** An hour at 50 exchanges a second: interpreted as a file and live, against reading and decoding it. */
export async function measureInterpret(): Promise<void> {
  const text = [...longRecording(1)].join("");
  const read = (): Reading => {
    const reading = new Reading("measure");
    reading.push(text);
    reading.finish();
    return reading;
  };
  const floor = { what: "reading and decoding it", ms: await medianMs(3, read) };
  const reading = read();
  const whole = await medianMs(3, () => {
    const interpreter = new Interpreter(reading);
    interpreter.finish();
    interpreter.findings();
  });
  line("an hour at 50 exchanges a second, interpreted", whole, floor);
  const { takes, looks } = live(text);
  const decode = { what: "its batch decoded", ms: (floor.ms * batchMs) / 3_600_000 };
  line("live: a batch of a quarter second taken, median", quantile(takes, 0.5), decode);
  line("live: the same, 99th percentile", quantile(takes, 0.99), decode);
  line("live: findings after it, median over the hour", quantile(looks, 0.5), decode);
  line("live: the same, 99th percentile", quantile(looks, 0.99), decode);
}

/** Times of taking a batch, and of a look after every tenth. */
function live(text: string): { takes: number[]; looks: number[] } {
  const reading = new Reading("measure");
  const lines = text.split("\n");
  reading.push(`${lines[0] ?? ""}\n`);
  const interpreter = new Interpreter(reading);
  const takes: number[] = [];
  const looks: number[] = [];
  const perBatch = Math.round((50 * batchMs) / 1000);
  for (let i = 1; i < lines.length; i += perBatch) {
    reading.push(`${lines.slice(i, i + perBatch).join("\n")}\n`);
    const from = performance.now();
    interpreter.advance();
    takes.push(performance.now() - from);
    if (takes.length % 10 !== 0) continue;
    const look = performance.now();
    interpreter.findings();
    looks.push(performance.now() - look);
  }
  return { takes, looks };
}
