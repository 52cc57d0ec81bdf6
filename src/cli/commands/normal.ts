import { existsSync, readFileSync, writeFileSync } from "node:fs";
import type { Command } from "commander";
import { CranksideError } from "../../../shared/errors.ts";
import type { Normal } from "../../interpret/index.ts";
import { learnedText } from "../../interpret/normal/text.ts";
import { learnFromFiles, normalFromText, normalText } from "../../recorder/normals.ts";
import { unreadable, unwritable } from "../../recorder/problems.ts";
import { Progress } from "../progress.ts";

interface NormalOptions {
  readonly out: string;
  readonly name?: string;
}

export function normalCommand(program: Command): void {
  program
    .command("normal")
    .description("learn what is normal for one vehicle from good recordings of it")
    .argument("<files...>", "recordings of one vehicle, made while it was healthy")
    .requiredOption(
      "--out <file>",
      "the file to write; `read --normal` uses it (src/interpret/NORMAL.md describes it)",
    )
    .option("--name <name>", "a name for the vehicle")
    .action(learn);
}

async function learn(files: readonly string[], { out, name }: NormalOptions): Promise<void> {
  if (existsSync(out))
    throw new CranksideError("file-exists", "there is such a file already", { found: out, where: "--out" });
  const progress = new Progress();
  const normal = await learnFromFiles(files, name, (file) => progress.show(file));
  progress.end("");
  try {
    writeFileSync(out, normalText(normal), { flag: "wx" });
  } catch (error) {
    throw unwritable(out, error);
  }
  process.stdout.write(learnedText(normal));
}

/** What was learned of a vehicle; throws `file-missing`, `file-unreadable`, `normal-invalid` or `newer-format`. */
export function readNormalFile(path: string): Normal {
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch (error) {
    throw unreadable(path, error);
  }
  return normalFromText(text, path);
}
