import { writeFileSync } from "node:fs";
import type { Command } from "commander";
import { causeRow } from "../../interpret/causes/rows.ts";
import { complaintWords, type Complaint } from "../../interpret/causes/types.ts";
import { allCases, localCases, takeCases } from "../../recorder/shelf/cases.ts";
import { unwritable } from "../../recorder/problems.ts";
import { Shelf } from "../../recorder/shelf/shelf.ts";
import { defaultFolder } from "../../server/folders.ts";
import { casesFile } from "../../sheet/shelf/cases.ts";
import { plain } from "../plain.ts";
import { Progress } from "../progress.ts";

interface CasesOptions {
  readonly folder: string;
  readonly out?: string;
  readonly take?: string;
}

export function casesCommand(program: Command): void {
  program
    .command("cases")
    .description(
      "your own proved cases by complaint, with how often each cause; they count in `read --next --own`",
    )
    .option("--out <file>", "write them to a file for others: no names, days, VINs or plates")
    .option("--take <file>", "add cases of others; they count beside your own")
    .option("--folder <path>", "where recordings and jobs are kept", defaultFolder())
    .action(cases);
}

/** The shelf of a folder with all its indexes. */
export async function shelfWithIndexes(folder: string): Promise<Shelf> {
  const shelf = new Shelf(folder);
  const progress = new Progress();
  await shelf.refresh({
    onProgress: (made, all, source) => progress.show(`index ${made + 1} of ${all}  ${source}`),
  });
  progress.end("");
  return shelf;
}

async function cases({ folder, out, take }: CasesOptions): Promise<void> {
  if (take !== undefined) {
    const count = takeCases(folder, take);
    process.stdout.write(`${count} ${count === 1 ? "case is" : "cases are"} added.\n`);
    return;
  }
  const shelf = await shelfWithIndexes(folder);
  if (out !== undefined) {
    const own = localCases(shelf);
    try {
      writeFileSync(out, casesFile(own), { flag: "wx" });
    } catch (error) {
      throw unwritable(out, error);
    }
    process.stdout.write(`${out} is written: ${own.length} ${own.length === 1 ? "case" : "cases"}.\n`);
    return;
  }
  const { cases: all, problems } = allCases(shelf);
  const by = new Map<string, Map<string, number>>();
  for (const { complaints, cause } of all)
    for (const complaint of complaints) {
      const counts = by.get(complaint) ?? new Map<string, number>();
      counts.set(cause, (counts.get(cause) ?? 0) + 1);
      by.set(complaint, counts);
    }
  for (const [complaint, counts] of by) {
    const words = Object.hasOwn(complaintWords, complaint)
      ? complaintWords[complaint as Complaint]
      : complaint;
    process.stdout.write(`${words}\n`);
    for (const [cause, n] of [...counts].sort((a, b) => b[1] - a[1]))
      process.stdout.write(`  ${String(n).padStart(4)}  ${causeRow(cause)?.name ?? cause}\n`);
  }
  process.stdout.write(`${all.length} proved ${all.length === 1 ? "case" : "cases"}.\n`);
  for (const { source, why } of problems) process.stderr.write(plain(`${source}: ${why}\n`));
}
