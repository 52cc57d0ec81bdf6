import { spawn } from "node:child_process";
import { build } from "../support/build.ts";
import { service, tempFolder } from "../support/program.ts";
import { line, medianMs } from "./figures.ts";

/** From the command to a page that can be asked for, against starting Node and ending at once. */
export async function measureStart(): Promise<void> {
  build();
  const folder = tempFolder();
  try {
    const floor = await medianMs(
      5,
      () => new Promise((resolve) => spawn(process.execPath, ["-e", "0"]).once("close", resolve)),
    );
    const stops: (() => Promise<void>)[] = [];
    const ours = await medianMs(5, async () => {
      const running = await service(folder.path);
      await fetch(running.said[1] ?? "");
      stops.push(() => running.stop());
    });
    for (const stop of stops) await stop();
    line("from the command to the page, nothing stale", ours, { what: "Node alone", ms: floor });
  } finally {
    folder.remove();
  }
}
