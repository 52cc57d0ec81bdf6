/**
 * Recordings of the bench vehicle through the real session, on the virtual clock. What comes out is the text of a
 * recording: whoever reads it knows nothing of the faults that were asked for.
 */
import { Bench, runScript } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/index.ts";
import type { BenchFault } from "../../shared/address.ts";
import { eventLine, formatName, formatVersion, headerLine } from "../../shared/recording/format.ts";
import { Reading } from "../../src/reading/index.ts";
import { benchSession } from "./benchSession.ts";

export interface BenchRun {
  readonly vehicle: string;
  readonly script: string;
  readonly faults?: readonly BenchFault[];
  readonly seed?: number;
  readonly coldStartC?: number;
  readonly channels?: readonly string[];
  /** Ask every module everything once the script is over. */
  readonly survey?: boolean;
}

export async function benchRecording(run: BenchRun): Promise<string> {
  const clock = new VirtualClock(undefined, 64);
  const { vehicle, faults = [], seed = 1 } = run;
  const bench = new Bench({
    vehicle,
    faults,
    seed,
    clock,
    ...(run.coldStartC === undefined ? {} : { coldStartC: run.coldStartC }),
  });
  bench.act({ act: "key", to: "on" });
  const lines: string[] = [];
  const { session } = await benchSession(
    bench,
    clock,
    (event) => void lines.push(eventLine(event)),
    run.channels,
  );
  await clock.run(runScript(bench, run.script, clock));
  if (run.survey === true) await clock.run(session.survey());
  const closing = session.close();
  await clock.run(closing);
  bench.stop();
  return (
    headerLine({
      format: formatName,
      version: formatVersion,
      started: "2024-01-01T00:00:00.000Z",
      from: "bench",
      adapter: null,
      protocol: null,
      vehicle: {},
      invented: true,
      writer: "tests",
    }) + lines.join("")
  );
}

export function readText(text: string): Reading {
  const reading = new Reading("test");
  reading.push(text);
  reading.finish();
  return reading;
}
