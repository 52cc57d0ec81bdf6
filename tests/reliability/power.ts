/** Power lost while recording: all that was not synced is gone, and what the disk had begun to write may be zeros. */
import { copyFileSync, fstatSync, readFileSync, truncateSync } from "node:fs";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { eventLine, type RecordingEvent } from "../../shared/recording/format.ts";
import { realDisk, type Disk } from "../../src/recorder/disk.ts";
import { readRecording } from "../../src/recorder/read.ts";
import { createRecording } from "../../src/recorder/writer.ts";
import { tempFolder } from "../support/program.ts";

/** The real disk that takes its time to sync, and remembers how much of the file is safe. */
class SlowDisk implements Disk {
  readonly #clock: VirtualClock;
  readonly #syncMs: () => number;
  safe = 0;

  constructor(clock: VirtualClock, syncMs: () => number) {
    this.#clock = clock;
    this.#syncMs = syncMs;
  }

  readonly open = (path: string, flags: string | number): number => realDisk.open(path, flags);
  readonly write = (fd: number, bytes: Uint8Array, at: number): number => realDisk.write(fd, bytes, at);
  readonly close = (fd: number): void => realDisk.close(fd);

  sync(fd: number): Promise<void> {
    const { size } = fstatSync(fd);
    return new Promise((resolve) => {
      this.#clock.after(this.#syncMs(), () => {
        this.safe = size;
        resolve();
      });
    });
  }
}

export interface PowerLoss {
  /** Between the last exchange in the file and the loss, milliseconds; 0 when nothing was recorded yet. */
  readonly lostMs: number;
  /** Whole lines that are not as they were written. */
  readonly differing: number;
}

export interface PowerOptions {
  readonly atMs: number;
  readonly everyMs: number;
  /** How long each sync takes. */
  readonly syncMs: () => number;
  /** Bytes of zeros behind what was synced. */
  readonly zeros: number;
}

export async function losePower({ atMs, everyMs, syncMs, zeros }: PowerOptions): Promise<PowerLoss> {
  const folder = tempFolder();
  try {
    const clock = new VirtualClock();
    const disk = new SlowDisk(clock, syncMs);
    const header = {
      from: "test",
      adapter: null,
      protocol: null,
      vehicle: {},
      invented: true,
      writer: "test",
    };
    const writer = createRecording({ folder: folder.path, header, clock, disk });
    const written: string[] = [];
    for (let t = 0; t + everyMs <= atMs; t += everyMs) {
      await clock.pass(everyMs);
      const event: RecordingEvent = {
        k: "x",
        t: clock.now(),
        ask: "010C1",
        lines: [`7E804410C${(written.length % 65_536).toString(16).padStart(4, "0").toUpperCase()}`],
        first: 3,
        end: 4,
      };
      written.push(eventLine(event));
      writer.append(event);
    }
    const after = `${folder.path}/after.ndjson`;
    copyFileSync(writer.path, after);
    truncateSync(after, disk.safe);
    if (zeros > 0) truncateSync(after, disk.safe + zeros);
    return await judge(after, written, atMs);
  } finally {
    folder.remove();
  }
}

async function judge(path: string, written: readonly string[], atMs: number): Promise<PowerLoss> {
  if (readFileSync(path).every((byte) => byte === 0)) return { lostMs: atMs, differing: 0 };
  const events: RecordingEvent[] = [];
  const nothing = (): void => undefined;
  await readRecording(path, { header: nothing, notice: nothing, event: (event) => events.push(event) });
  const differing = events.filter((event, i) => eventLine(event) !== written[i]).length;
  return { lostMs: atMs - (events.at(-1)?.t ?? 0), differing };
}
