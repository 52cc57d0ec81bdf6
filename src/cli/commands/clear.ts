import type { Command } from "commander";
import { createInterface } from "node:readline/promises";
import { realClock } from "../../../adapters/link/index.ts";
import { addressShapes, parseAddress } from "../../../shared/address.ts";
import { pause } from "../../../shared/clock.ts";
import { clearRefused, clearSentence, lossesOf, notKept } from "../../../shared/clearing.ts";
import { Progress } from "../progress.ts";
import { record, type Recorder } from "../record.ts";
import { unconfirmedOption } from "../unconfirmed.ts";
import { surveyText } from "../surveyText.ts";

interface ClearOptions {
  readonly unconfirmed?: true;
  readonly on: string;
  readonly out: string;
}

/** Engine speed and supply are read for so long first: codes are cleared at rest only. */
const lookMs = 2000;

export function clearCommand(program: Command): void {
  program
    .command("clear")
    .description(
      "clear codes, once: reads all modules first, keeps what they say, and asks you to type what will be lost",
    )
    .requiredOption("--on <address>", addressShapes)
    .requiredOption("--out <file>", "the recording that keeps what is lost, and the answer")
    .option(...unconfirmedOption)
    .action(async (options: ClearOptions) => {
      const progress = new Progress();
      const recorder = await record({
        address: parseAddress(options.on),
        out: options.out,
        clock: realClock,
        unconfirmed: options.unconfirmed === true,
        channels: [],
        onDoing: (text) => progress.show(text),
      });
      try {
        await clear(recorder, progress);
      } finally {
        await recorder.close();
      }
    });
}

/** Throws `clear-refused` before anything is sent when something is missing. */
async function clear(recorder: Recorder, progress: Progress): Promise<void> {
  const out = (text: string): void => void process.stdout.write(`${text}\n`);
  const { session } = recorder;
  recorder.start();
  await pause(realClock, lookMs);
  const survey = await session.survey();
  progress.end("");
  out(surveyText(survey));
  const missing = notKept(survey);
  if (missing !== null) throw clearRefused(missing);
  const lost = lossesOf(survey);
  out(
    [
      `Lost for good: ${lost.codes.length === 0 ? "no codes" : `codes ${lost.codes.join(", ")}`};`,
      `${lost.frames.length === 0 ? "no freeze frame" : `the freeze frame of ${lost.frames.join(", ")}`};`,
      "the progress of readiness, test results, and what the modules learned, where they keep it there.",
      "The fault stays. Key on, engine stopped. The vehicle's own manual comes first. It is sent once.",
      `Type: ${clearSentence(survey)}`,
    ].join("\n"),
  );
  const { cleared, refused } = await session.clearCodes(await typedLine());
  for (const module of cleared) out(`module ${module}: says that it is done`);
  for (const { module, reason } of refused) out(`module ${module}: says no (${reason})`);
  out(surveyText(await session.survey()));
}

/** One line of what is typed; nothing when there is none. */
async function typedLine(): Promise<string> {
  const lines = createInterface({ input: process.stdin });
  try {
    for await (const line of lines) return line;
    return "";
  } finally {
    lines.close();
  }
}
