import type { Command } from "commander";
import { verifyRecording, verifyStatuses, type Verification } from "../../recorder/verify.ts";
import type { CommandOutcome } from "../outcome.ts";
import { Progress } from "../progress.ts";

const words = {
  whole: "whole: every byte before its end line is as it was written",
  "cut-short": "cut short: what is there can be read, but it was not closed",
  altered: "altered: it is not as it was written",
} as const;

/** Notices shown before the rest is only counted. */
const noticesShown = 20;

export function verifyCommand(program: Command, outcome: CommandOutcome): void {
  program
    .command("verify")
    .description("check whether a recording is whole (exit 0), cut short (3) or altered (4)")
    .argument("<file>", "a recording")
    .option("--json", "as JSON")
    .action(async (file: string, options: { json?: boolean }) => {
      const progress = new Progress();
      const result = await verifyRecording(file, { onProgress: (bytes) => progress.show(`${bytes} bytes`) });
      progress.end("");
      outcome.status = verifyStatuses[result.state];
      process.stdout.write(
        options.json === true ? `${JSON.stringify(result, null, 2)}\n` : verifyText(file, result),
      );
    });
}

function verifyText(file: string, result: Verification): string {
  const events = Object.entries(result.events).map(
    ([kind, count]) => `${count} ${kindWords[kind] ?? `of kind ${kind}`}`,
  );
  const lines = [
    file,
    words[result.state],
    ...result.reasons.map((reason) => `  ${reason}`),
    `recovered: ${events.join(", ") || "nothing"}`,
    `dropped: ${result.dropped} ${result.dropped === 1 ? "line" : "lines"} of ${result.lines}`,
    ...result.notices.slice(0, noticesShown).map((n) => `  line ${n.line}: ${n.text}`),
  ];
  const more = result.notices.length - noticesShown;
  if (more > 0) lines.push(`  and ${more} more`);
  return `${lines.join("\n")}\n`;
}

const kindWords: Readonly<Record<string, string>> = {
  x: "exchanges",
  s: "samples",
  stray: "strays",
  mark: "marks",
  link: "link events",
  facts: "facts",
  notice: "notices",
  end: "ends",
};
