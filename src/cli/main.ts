/** The command line: one file a command, exit status 0, 1 (it failed) or 2 (wrong use); errors on stderr. */
import { Command, CommanderError } from "commander";
import { isCranksideError, messageOf } from "../../shared/errors.ts";
import { benchCommand } from "./commands/bench.ts";
import { caseCommand } from "./commands/case.ts";
import { casesCommand } from "./commands/cases.ts";
import { channelsCommand } from "./commands/channels.ts";
import { clearCommand } from "./commands/clear.ts";
import { exportCommand } from "./commands/export.ts";
import { findCommand } from "./commands/find.ts";
import { importCommand } from "./commands/import.ts";
import { listenCommand } from "./commands/listen.ts";
import { normalCommand } from "./commands/normal.ts";
import { noteCommand } from "./commands/note.ts";
import { openCommand } from "./commands/open.ts";
import { portsCommand } from "./commands/ports.ts";
import { readCommand } from "./commands/read.ts";
import { recordingsCommand } from "./commands/recordings.ts";
import { serveCommand } from "./commands/serve.ts";
import { surveyCommand } from "./commands/survey.ts";
import { verifyCommand } from "./commands/verify.ts";
import type { CommandOutcome } from "./outcome.ts";
import { writerName } from "./version.ts";
import { plain } from "./plain.ts";

const wrongUse = 2;

export async function main(args: readonly string[]): Promise<number> {
  const outcome: CommandOutcome = { status: 0 };
  const program = new Command("crankside")
    .description(
      "Hear what an engine control module sees while the engine is cranked and runs; keep every byte.",
    )
    .version(writerName, "--version", "print the version")
    .helpOption("--help", "show this help")
    .helpCommand(false)
    .showHelpAfterError("(--help shows how it is used)")
    .exitOverride();
  for (const add of [
    serveCommand,
    portsCommand,
    listenCommand,
    surveyCommand,
    clearCommand,
    recordingsCommand,
    findCommand,
    casesCommand,
    caseCommand,
    readCommand,
    normalCommand,
    importCommand,
    channelsCommand,
    exportCommand,
    verifyCommand,
    noteCommand,
    openCommand,
    benchCommand,
  ]) {
    add(program, outcome);
  }
  for (const command of program.commands) {
    command
      .exitOverride()
      .helpOption("--help", "show this help")
      .showHelpAfterError("(--help shows how it is used)");
  }
  try {
    await program.parseAsync([...args], { from: "user" });
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : wrongUse;
    process.stderr.write(plain(`crankside: ${messageOf(error)}\n`));
    return isCranksideError(error, "wrong-use") || isCranksideError(error, "wrong-address") ? wrongUse : 1;
  }
  return outcome.status;
}
