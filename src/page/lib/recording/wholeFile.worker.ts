/** Reads a recording from its first byte to its last on a thread of its own: the page is built and drawn meanwhile. */
import { Reading, columnsOf } from "../../../reading/index.ts";
import { bodyOf } from "./body.ts";
import { pageClock } from "../app/clock.ts";
import { failureOf } from "../app/failure.ts";
import { Regimes } from "../../../analyst/regimes.ts";
import type { FromReader, ToReader } from "./wholeFile.ts";

/** What was read is shown as soon as there is anything, again after so long, and then after twice as long each time. */
const shownAgainMs = 1000;
/** So much of a sample is enough to practise on. */
const practiceBytes = 2 * 1024 * 1024;

let wanted = false;

function tell(word: FromReader, handedOver: ArrayBuffer[] = []): void {
  postMessage(word, { transfer: handedOver });
}

async function read(file: string, url: string): Promise<void> {
  const reading = new Reading(file);
  const regimes = new Regimes(reading);
  let bytes = 0;
  let showAt = Number.NEGATIVE_INFINITY;
  let rest = shownAgainMs;
  let failure = null;
  try {
    const { next, length } = await bodyOf(url);
    for (let piece = await next(); piece !== null; piece = await next()) {
      bytes += piece.length;
      if (length !== null) reading.channels.reached(bytes / length);
      reading.push(piece);
      regimes.follow();
      if (pageClock.now() < showAt || reading.channels.channels.length === 0) continue;
      showAt = pageClock.now() + rest;
      rest *= 2;
      tell({ kind: "part", bytes, reading: reading.pack() });
    }
    reading.finish();
  } catch (error) {
    failure = failureOf(error);
  }
  const spans = regimes.whole();
  const packed = reading.pack();
  tell({ kind: "all", bytes, reading: packed, spans, failure }, columnsOf(packed));
}

/** Code that never ran is slow: a sample is read, and forgotten, while a person still looks for a recording. */
async function practise(url: string): Promise<void> {
  const reading = new Reading(url);
  const regimes = new Regimes(reading);
  const { next, leave } = await bodyOf(url);
  let bytes = 0;
  for (let piece = await next(); piece !== null && !wanted && bytes < practiceBytes; piece = await next()) {
    bytes += piece.length;
    reading.push(piece);
    regimes.follow();
  }
  await leave();
}

addEventListener("message", ({ data }: MessageEvent<ToReader>) => {
  if (data.kind === "practise") {
    // Nobody waits for it, and what it finds out is found out again.
    practise(data.url).catch(() => undefined);
    return;
  }
  wanted = true;
  void read(data.file, data.url);
});
