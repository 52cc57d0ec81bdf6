import { readFileSync } from "node:fs";
import { basename } from "node:path";
import { Option, type Command } from "commander";
import { CranksideError, messageOf } from "../../../shared/errors.ts";
import { writtenFactsSchema, type VehicleFacts } from "../../../shared/vehicle.ts";
import type { Advice } from "../../interpret/causes/adviceSchema.ts";
import { adviceText } from "../../interpret/causes/adviceText.ts";
import { complaints, complaintWords, type Complaint } from "../../interpret/causes/types.ts";
import { findingsText } from "../../interpret/index.ts";
import { stillToHear, stillToHearLines } from "../../interpret/report/stillToHear.ts";
import { wrap } from "../../interpret/report/text.ts";
import type { Analyst } from "../../analyst/index.ts";
import type { OwnCases } from "../../interpret/causes/own.ts";
import { ownCases } from "../../interpret/causes/tables/ownCases.ts";
import { allCases } from "../../recorder/shelf/cases.ts";
import { defaultFolder } from "../../server/folders.ts";
import { shelfWithIndexes } from "./cases.ts";
import { openRecording } from "../../recorder/open.ts";
import { readByJob } from "../../sheet/readByJob.ts";
import { plain } from "../plain.ts";
import { Progress } from "../progress.ts";
import { readNormalFile } from "./normal.ts";
import { wrongShape } from "../../../shared/wrongShape.ts";

interface ReadOptions {
  readonly own?: string;
  readonly worth?: number;
  readonly json?: true;
  readonly vehicle?: string;
  readonly normal?: string;
  readonly us?: true;
  readonly all?: true;
  readonly next?: true;
  readonly complaint?: readonly Complaint[];
}

const complaintList = complaints.map((id) => `${id} (${complaintWords[id]})`).join(", ");

/** Complaints by the names of the table, with commas; throws `wrong-use` for another. */
function complaintsNamed(text: string): Complaint[] {
  const named = text.split(",").map((word) => word.trim());
  const known = (word: string): word is Complaint => complaints.some((id) => id === word);
  const unknown = named.find((word) => !known(word));
  if (unknown !== undefined) {
    throw new CranksideError("wrong-use", "no such complaint", {
      expected: complaintList,
      found: unknown,
      where: "--complaint",
    });
  }
  return complaints.filter((id) => named.includes(id));
}

export function readCommand(program: Command): void {
  program
    .command("read")
    .description("say what a recording shows: what looks wrong, how much, against which range")
    .argument("<file>", "a recording")
    .option("--json", "as JSON (src/interpret/FINDINGS.md describes it)")
    .option("--vehicle <facts>", "vehicle facts, JSON; each replaces the recording's own")
    .option(
      "--normal <file>",
      "what was learned of this vehicle (`crankside normal`), beside the general ranges",
    )
    .option("--us", "US units in the text")
    .option("--all", "show what is within its range, too")
    .addOption(
      new Option(
        "--own [folder]",
        "with --next: your own proved cases of this folder count beside the tables (`crankside cases`)",
      )
        .preset(defaultFolder())
        .implies({ next: true }),
    )
    .addOption(
      new Option(
        "--worth <cases>",
        `with --own: weight of the tables, in cases (${ownCases.worth})`,
      ).argParser(worthOf),
    )
    .option("--next", "likely causes, and the check that is worth doing next")
    .addOption(
      new Option(
        "--complaint <words>",
        `with --next: the complaint, in place of the recording's own; several with commas: ${complaintList}`,
      )
        .argParser(complaintsNamed)
        .implies({ next: true }),
    )
    .action(read);
}

async function read(file: string, options: ReadOptions): Promise<void> {
  const given = options.vehicle === undefined ? {} : readFacts(options.vehicle);
  const normal = options.normal === undefined ? undefined : readNormalFile(options.normal);
  const progress = new Progress();
  const analyst = await openRecording(file, {
    by: { ...readByJob(null, basename(file), given), normal },
    onProgress: (bytes) => progress.show(`${bytes} bytes`),
  });
  progress.end("");
  const { reading } = analyst;
  for (const notice of reading.notices) {
    process.stderr.write(
      plain(`notice: ${notice.line === 0 ? "" : `line ${notice.line}: `}${notice.text}\n`),
    );
  }
  const own = options.own === undefined ? undefined : await ownOf(options.own, options.worth);
  const wanted = options.next === true;
  // The sentence names the cause as well; JSON without it stays what was found.
  const advice =
    wanted || options.json !== true ? analyst.advice({ complaints: options.complaint, own }) : null;
  const findings = analyst.findings();
  if (options.json === true) {
    process.stdout.write(plain(`${JSON.stringify(advice ?? findings, null, 2)}\n`));
    return;
  }
  const system = options.us === true ? "us" : "metric";
  const { words, figures } = analyst.headline(advice, system);
  const said = [...wrap(`${words}.`), ...wrap(figures, 2)].join("\n");
  const head = `${said}\n\n${file}${reading.invented ? "\nbench vehicle, invented data" : ""}\n\n`;
  process.stdout.write(
    plain(
      head +
        (wanted && advice !== null
          ? adviceText(advice)
          : findingsText(findings, system, options.all === true) + hearText(analyst, advice?.captures)),
    ),
  );
}

/** What this recording holds nothing of yet, and what it would decide. */
function hearText(analyst: Analyst, worths: Advice["captures"]): string {
  const heard = stillToHear(analyst.reading, analyst.findings(), analyst.complaints(), worths);
  const lines = stillToHearLines(heard);
  if (lines.length === 0) return "";
  return `\nStill to hear\n${lines.flatMap((line) => wrap(line, 2, 4)).join("\n")}\n`;
}

function worthOf(text: string): number {
  const worth = Number(text);
  if (worth >= ownCases.least && worth <= ownCases.most) return worth;
  throw new CranksideError("wrong-use", "the tables cannot have that weight", {
    expected: `${ownCases.least} to ${ownCases.most} cases`,
    found: JSON.stringify(text),
  });
}

async function ownOf(folder: string, worth: number = ownCases.worth): Promise<OwnCases> {
  const { cases, problems } = allCases(await shelfWithIndexes(folder));
  for (const { source, why } of problems) process.stderr.write(plain(`${source}: ${why}\n`));
  return { cases, worth };
}

/** Vehicle facts from a file; throws `file-unreadable` or `facts-invalid`. */
function readFacts(path: string): VehicleFacts {
  let value: unknown;
  try {
    value = JSON.parse(readFileSync(path, "utf8"));
  } catch (error) {
    throw new CranksideError(
      "file-unreadable",
      "the vehicle facts cannot be read",
      { found: messageOf(error), where: path },
      error,
    );
  }
  const result = writtenFactsSchema.safeParse(value);
  if (result.success) return result.data;
  const wrong = wrongShape(result.error.issues, value, "the fields of vehicle facts");
  const unknown = result.error.issues[0]?.code === "unrecognized_keys";
  throw new CranksideError("facts-invalid", "the vehicle facts are not as they should be", {
    ...wrong,
    ...(unknown ? { expected: `only ${Object.keys(writtenFactsSchema.shape).join(", ")}` } : {}),
    where: `${path}, ${wrong.where}`,
  });
}
