import type { Command } from "commander";
import { verifyRecording } from "../../recorder/verify.ts";
import type { Outcome } from "../main.ts";

/** Exit statuses beside 1 (not readable) that tell the outcomes apart. */
const statuses = { whole: 0, "cut-short": 3, altered: 4 } as const;

const words = {
  whole: "whole: every byte before its end line is as it was written",
  "cut-short": "cut short: what is there can be read, but it was not closed",
  altered: "altered: it is not as it was written",
} as const;

export function verifyCommand(program: Command, outcome: Outcome): void {
  program
    .command("verify")
    .description("say whether a recording is whole (exit 0), cut short (3) or altered (4)")
    .argument("<file>", "a recording")
    .option("--json", "as JSON")
    .action(async (file: string, options: { json?: boolean }) => {
      const result = await verifyRecording(file);
      outcome.status = statuses[result.state];
      if (options.json === true) {
        process.stdout.write(`${JSON.stringify(result, null, 2)}\n`);
        return;
      }
      process.stdout.write(`${file}\n${words[result.state]}\n`);
    });
}
