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
import { measureTurnaround } from "./turnaround.ts";
import { measureWaiting } from "./waiting.ts";

/** Some have parts of their own, named behind a colon. */
const parts: Readonly<Record<string, (part?: string) => void | Promise<void>>> = {
  crank: measureCrank,
  cylinders: measureCylinders,
  hostile: measureHostile,
  interpret: measureInterpret,
  note: measureNote,
  page: measurePage,
  parquet: measureParquet,
  polling: measurePolling,
  reading: measureReading,
  reliability: measureReliability,
  shelf: measureShelf,
  start: measureStart,
  turnaround: measureTurnaround,
  waiting: measureWaiting,
};

/** These take minutes, and one installs something: only where they are named. */
const long: ReadonlySet<string> = new Set(["parquet", "shelf"]);

/** Runs the named parts, or all of them but the long ones. `page:live` and `page live` both mean one part of a part. */
export async function measure(names: readonly string[]): Promise<void> {
  const wanted =
    names.length === 0 ? Object.keys(parts).filter((name) => !long.has(name)) : withTheirParts(names);
  for (const wish of wanted) {
    const [name = "", sub] = wish.split(":");
    const part = Object.hasOwn(parts, name) ? parts[name] : undefined;
    if (part === undefined) throw new Error(`no part ${name}; there are ${Object.keys(parts).join(", ")}`);
    process.stdout.write(`\n${wish}\n`);
    await part(sub);
  }
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
