import { measureInterpret } from "./interpret.ts";
import { measurePage } from "./page.ts";
import { measurePolling } from "./polling.ts";
import { measureReading } from "./reading.ts";
import { measureStart } from "./start.ts";
import { measureTurnaround } from "./turnaround.ts";
import { measureWaiting } from "./waiting.ts";

const parts: Readonly<Record<string, () => void | Promise<void>>> = {
  interpret: measureInterpret,
  page: measurePage,
  polling: measurePolling,
  reading: measureReading,
  start: measureStart,
  turnaround: measureTurnaround,
  waiting: measureWaiting,
};

/** Runs the named parts, or all of them. */
export async function measure(names: readonly string[]): Promise<void> {
  const wanted = names.length === 0 ? Object.keys(parts) : names;
  for (const name of wanted) {
    const part = Object.hasOwn(parts, name) ? parts[name] : undefined;
    if (part === undefined) throw new Error(`no part ${name}; there are ${Object.keys(parts).join(", ")}`);
    process.stdout.write(`\n${name}\n`);
    await part();
  }
}
