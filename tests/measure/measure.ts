import { measureCrank } from "./crank.ts";
import { measureCylinders } from "./cylinders.ts";
import { measureHostile } from "./hostile.ts";
import { measureInterpret } from "./interpret.ts";
import { measureNote } from "./note.ts";
import { measurePage } from "./page.ts";
import { measureParquet } from "./parquet.ts";
import { measurePolling } from "./polling.ts";
import { measureReading } from "./reading.ts";
import { measureReliability } from "./reliability.ts";
import { measureShelf } from "./shelf.ts";
import { measureStart } from "./start.ts";
import { measureTable } from "./table.ts";
import { measureTurnaround } from "./turnaround.ts";
import { measureWaiting } from "./waiting.ts";

interface Part {
  readonly run: (part?: string) => void | Promise<void>;
  readonly about: string;
}

/** Some have parts of their own, named behind a colon or a blank. */
const parts: Readonly<Record<string, Part>> = {
  crank: {
    run: measureCrank,
    about: 'a crank from the key to the eye: first pixel, "no speed", final verdict',
  },
  cylinders: {
    run: measureCylinders,
    about: "what the strength of each cylinder tells, and how often it is wrong",
  },
  hostile: {
    run: measureHostile,
    about: "an adapter that answers wrongly: drawn values against those that were sent",
  },
  interpret: { run: measureInterpret, about: "findings of an hour, whole and while it grows" },
  note: { run: measureNote, about: "the note of an hour with clips and photos" },
  page: {
    run: measurePage,
    about: "opening, moving and the live view in Chromium; `page open` and `page live` are one of them alone",
  },
  parquet: { run: measureParquet, about: "tables of many recordings (takes minutes)" },
  polling: {
    run: measurePolling,
    about: "readings a second by protocol, beside the ceiling of the bus and a plain loop",
  },
  reading: { run: measureReading, about: "reading and decoding long recordings" },
  reliability: { run: measureReliability, about: "what is kept, and what is let in" },
  shelf: { run: measureShelf, about: "searching many recordings (takes minutes)" },
  start: { run: measureStart, about: "from the command to a page that can be asked for" },
  table: {
    run: measureTable,
    about:
      "all that DEVELOPERS.md's table of speed holds, and the table (half an hour); `table small` that it works",
  },
  turnaround: {
    run: measureTurnaround,
    about: "what the program adds between the prompt and the next request",
  },
  waiting: { run: measureWaiting, about: "processor time while nothing comes" },
};

/** These take minutes, and one installs something: only where they are named. */
const long: ReadonlySet<string> = new Set(["parquet", "shelf", "table"]);

/** Runs the named parts, or all of them but the long ones. `page:live` and `page live` both mean one part of a part. */
export async function measure(names: readonly string[]): Promise<void> {
  if (names.includes("--help")) {
    process.stdout.write(help());
    return;
  }
  const wanted =
    names.length === 0 ? Object.keys(parts).filter((name) => !long.has(name)) : withTheirParts(names);
  for (const wish of wanted) {
    const [name = "", sub] = wish.split(":");
    const part = Object.hasOwn(parts, name) ? parts[name] : undefined;
    if (part === undefined) throw new Error(`no part ${name}; there are ${Object.keys(parts).join(", ")}`);
    process.stdout.write(`\n${wish}\n`);
    await part.run(sub);
  }
}

function help(): string {
  const width = Math.max(...Object.keys(parts).map((name) => name.length));
  const lines = Object.entries(parts).map(([name, { about }]) => `  ${name.padEnd(width)}  ${about}\n`);
  const rest = [...long].join(", ");
  return `npm run measure -- [part ...]: figures, each beside a floor measured in the same run. Parts:\n\n${lines.join("")}\nWithout a part: all but ${rest}.\n`;
}

function withTheirParts(names: readonly string[]): string[] {
  const wishes: string[] = [];
  for (const name of names) {
    const before = wishes.at(-1);
    const isPart = Object.hasOwn(parts, name.split(":")[0] ?? "");
    if (isPart || before === undefined || before.includes(":")) wishes.push(name);
    else wishes[wishes.length - 1] = `${before}:${name}`;
  }
  return wishes;
}
