import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { basename } from "node:path";
import type { Command } from "commander";
import { CranksideError, messageOf } from "../../../shared/errors.ts";
import { learnNormal, normalOf, readNormal, type Normal } from "../../interpret/index.ts";
import { learnedText } from "../../interpret/normal/text.ts";
import { Reading } from "../../reading/index.ts";
import { readRecording } from "../../recorder/read.ts";
import { effectiveFacts } from "../../sheet/effectiveFacts.ts";
import { Progress } from "../progress.ts";

interface NormalOptions {
  readonly out: string;
  readonly name?: string;
}

export function normalCommand(program: Command): void {
  program
    .command("normal")
    .description("learn what is normal for one vehicle from recordings of it that are sound")
    .argument("<files...>", "recordings of one vehicle while nothing was wrong with it")
    .requiredOption(
      "--out <file>",
      "where to keep it; `read --normal` takes it (src/interpret/NORMAL.md describes it)",
    )
    .option("--name <name>", "what you know the vehicle by")
    .action(learn);
}

async function learn(files: readonly string[], { out, name }: NormalOptions): Promise<void> {
  if (existsSync(out))
    throw new CranksideError("file-exists", "there is such a file already", { found: out, where: "--out" });
  const progress = new Progress();
  const learning: { name: string; normal: ReturnType<typeof normalOf> }[] = [];
  for (const file of files) {
    progress.show(file);
    const reading = new Reading(file);
    await readRecording(file, reading.sink);
    const { vehicle } = effectiveFacts(reading.facts, null, basename(file)).facts;
    learning.push({ name: basename(file), normal: normalOf(reading, vehicle) });
  }
  progress.end("");
  const normal = learnNormal(learning, name);
  try {
    writeFileSync(out, `${JSON.stringify(normal, null, 2)}\n`, { flag: "wx" });
  } catch (error) {
    throw new CranksideError(
      "file-unwritable",
      "what was learned cannot be kept",
      { found: messageOf(error), where: out },
      error,
    );
  }
  process.stdout.write(learnedText(normal));
}

/** What was learned of a vehicle; throws `file-missing`, `file-unreadable`, `normal-invalid` or `newer-format`. */
export function readNormalFile(path: string): Normal {
  let value: unknown;
  try {
    value = JSON.parse(readFileSync(path, "utf8"));
  } catch (error) {
    const missing = error instanceof Error && "code" in error && error.code === "ENOENT";
    throw new CranksideError(
      missing ? "file-missing" : "file-unreadable",
      "what was learned of the vehicle cannot be read",
      { found: messageOf(error), where: path },
      error,
    );
  }
  return readNormal(value, path);
}
