import { readFileSync, writeFileSync } from "node:fs";
import { basename } from "node:path";
import type { Command } from "commander";
import { benchFaults, benchVehicle, faultsOf, mendedBy } from "../../../adapters/bench/index.ts";
import { parseAddress } from "../../../shared/address.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { nearestOf } from "../../../shared/nearest.ts";
import { causeRow } from "../../interpret/causes/rows.ts";
import { causes as allCauses } from "../../interpret/causes/tables/causes.ts";
import { openRecording } from "../../recorder/open.ts";
import { unwritable } from "../../recorder/problems.ts";
import { caseText, knowsOf, type NewCase } from "../../sheet/practiceCase.ts";
import { plain } from "../plain.ts";

interface CaseOptions {
  readonly title: string;
  readonly story: string;
  readonly complaint: string;
  readonly vehicle?: string;
  readonly fault: readonly string[];
  readonly recording?: string;
  readonly cause: readonly string[];
  readonly knows?: string;
  readonly out: string;
}

const many = (one: string, all: string[]): string[] => [...all, one];

export function caseCommand(program: Command): void {
  program
    .command("case")
    .description(
      "make a case to practise on, as one file that the page opens (recordings/CASE.md describes it)",
    )
    .requiredOption("--title <words>", "its title; it must not give the fault away")
    .requiredOption("--story <words>", "what the customer says")
    .option("--complaint <words>", "the complaint that the sheet begins with", "")
    .option("--vehicle <name>", "the bench vehicle to use (`crankside bench --list`)")
    .option("--fault <name[=severity]>", "what is broken in it; may be given again", many, [])
    .option("--recording <file>", "a recording, in place of the bench vehicle")
    .option("--cause <id>", "the cause, with --recording; may be given again", many, [])
    .option(
      "--knows <money>",
      "what a person who knows the fault spends; worked out from the repair if not given",
    )
    .requiredOption("--out <file>", "the file to write")
    .action(make);
}

function wrong(text: string, expected: string, found = ""): CranksideError {
  return new CranksideError("wrong-use", text, { expected, ...(found === "" ? {} : { found }) });
}

async function make(options: CaseOptions): Promise<void> {
  const { title, story, complaint, knows, out } = options;
  if ((options.vehicle === undefined) === (options.recording === undefined))
    throw wrong("a case is either of the bench vehicle or of a recording", "--vehicle or --recording");
  const money = knows === undefined ? undefined : Number(knows);
  if (money !== undefined && !(money >= 0)) throw wrong("this is not an amount", "--knows in money", knows);
  const what =
    options.recording === undefined ? ofBench(options) : await ofRecording(options, options.recording);
  const made = { title, story, complaint, ...what, ...(money === undefined ? {} : { knows: money }) };
  try {
    writeFileSync(out, caseText(made), { flag: "wx" });
  } catch (error) {
    throw unwritable(out, error);
  }
  const names = made.hidden.causes.map((id) => causeRow(id)?.name ?? id).join(", or ");
  process.stdout.write(
    plain(
      `${out} is written. Hidden in it: ${names.toLowerCase()}. A person who knows the fault spends ${money ?? knowsOf(made.hidden.causes)}.\n` +
        "The fault is hidden from view in the file; anyone who decodes it can read it.\n",
    ),
  );
}

type What = Pick<NewCase, "hidden" | "recording">;

function ofBench({ vehicle = "", fault, cause }: CaseOptions): What {
  if (fault.length === 0) throw wrong("nothing is broken", "--fault");
  if (cause.length > 0) throw wrong("the faults tell their causes", "no --cause with --vehicle");
  const address = parseAddress(`bench:${vehicle},${fault.join(",")}`);
  const faults = address.kind === "bench" ? address.faults : [];
  const known = faultsOf(benchVehicle(vehicle));
  for (const { name, severity } of faults) {
    if (!known.some((row) => row.id === name))
      throw new CranksideError("bench-unknown", `no such fault on ${vehicle}`, {
        expected: known.map((row) => row.id).join(", "),
        found: JSON.stringify(name),
      });
    if (severity === 0) throw wrong("this fault is not there", "a severity above 0", name);
  }
  const causes = [...new Set(faults.flatMap(({ name }) => mendedBy[name] ?? []))];
  return { hidden: { causes, bench: { vehicle, faults: [...faults] } }, recording: null };
}

async function ofRecording({ fault, cause }: CaseOptions, path: string): Promise<What> {
  if (fault.length > 0) throw wrong("a recording takes no fault of its own", "no --fault with --recording");
  if (cause.length === 0) throw wrong("nothing says what it was", "--cause");
  for (const one of cause) {
    if (causeRow(one) !== undefined) continue;
    const near = nearestOf(
      one,
      allCauses.map((row) => row.id),
    );
    throw wrong("no such cause", near === null ? "an id of the table of causes" : `near to it: ${near}`, one);
  }
  // What is no recording is told before it is handed to learners.
  const { reading } = await openRecording(path);
  const said = JSON.stringify([reading.facts, reading.marks.map((m) => m.label)]).toLowerCase();
  const names = benchFaults.map((row) => row.id).filter((id) => said.includes(id));
  if (names.length > 0) process.stderr.write(plain(`its facts or marks name ${names.join(", ")}\n`));
  return {
    hidden: { causes: [...cause] },
    recording: { file: basename(path), bytes: new Uint8Array(readFileSync(path)) },
  };
}
