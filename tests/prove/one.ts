/** One case: a recording is made, and read back from its file by the interpreter as any other. */
import { rmSync } from "node:fs";
import { join } from "node:path";
import { runScript } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/index.ts";
import { record } from "../../src/cli/record.ts";
import { interpret, type Findings } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { readRecording } from "../../src/recorder/read.ts";
import type { Case } from "./cases.ts";

const epoch = Date.UTC(2026, 0, 5, 8);

export async function makeRecording(one: Case, out: string): Promise<void> {
  const clock = new VirtualClock(epoch, 64);
  const faults = one.fault === null ? [] : [{ name: one.fault, severity: one.severity }];
  const run = async (): Promise<void> => {
    const recorder = await record({
      address: { kind: "bench", vehicle: one.vehicle, faults },
      out,
      clock,
      channels: [],
      seed: one.seed,
      onDoing: () => undefined,
    });
    try {
      recorder.start();
      if (recorder.bench !== null) {
        await runScript(recorder.bench, one.script, clock);
        // Codes, freeze frame and counters are standard data too: asked at the end, key on.
        recorder.bench.act({ act: "key", to: "on" });
        await recorder.session.survey();
      }
    } finally {
      await recorder.close();
    }
  };
  await clock.run(run());
}

/** Through the public reading of a recording file only. */
export async function readBack(path: string): Promise<Findings> {
  const reading = new Reading(path);
  await readRecording(path, reading.sink);
  return interpret(reading);
}

export async function findingsOf(one: Case, folder: string): Promise<Findings> {
  const out = join(folder, `case-${process.pid}.ndjson`);
  try {
    await makeRecording(one, out);
    return await readBack(out);
  } finally {
    rmSync(out, { force: true });
  }
}
