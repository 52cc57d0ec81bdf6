import type { Command } from "commander";
import { realClock } from "../../../adapters/link/index.ts";
import { addressShapes, parseAddress } from "../../../shared/address.ts";
import { Progress } from "../progress.ts";
import { record } from "../record.ts";
import { unconfirmedOption } from "../unconfirmed.ts";
import { surveyText } from "../surveyText.ts";

interface SurveyOptions {
  readonly unconfirmed?: true;
  readonly on: string;
  readonly out?: string;
  readonly json?: true;
}

export function surveyCommand(program: Command): void {
  program
    .command("survey")
    .description("read all modules once: DTCs, readiness, freeze frame, Mode 06, VIN and CVN")
    .requiredOption("--on <address>", addressShapes)
    .option("--out <file>", "keep the answers in a recording as well")
    .option("--json", "as JSON")
    .option(...unconfirmedOption)
    .action(async (options: SurveyOptions) => {
      const progress = new Progress();
      const recorder = await record({
        address: parseAddress(options.on),
        out: options.out ?? null,
        clock: realClock,
        unconfirmed: options.unconfirmed === true,
        channels: [],
        onDoing: (text) => progress.show(text),
      });
      try {
        const survey = await recorder.session.survey();
        progress.end("");
        process.stdout.write(
          options.json === true ? `${JSON.stringify(survey, null, 2)}\n` : surveyText(survey),
        );
      } finally {
        await recorder.close();
      }
    });
}
