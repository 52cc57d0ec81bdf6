/** A job of an hour with twelve clips and twelve photos: made here for the test of its size and for measuring. */
import { openSync, writeSync, closeSync } from "node:fs";
import { join } from "node:path";
import { VirtualClock } from "../../adapters/link/index.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { tieOf } from "../../src/recorder/jobs/tie.ts";
import { putting, puttingClip } from "../../src/sheet/put.ts";

/** Of the made recording: ISO 8601 with zone. */
export const created = "2024-03-02T09:00:00.000+01:00";

const lanes = [
  ...[
    ["engine-speed"],
    ["socket-voltage"],
    ["manifold"],
    ["air-flow"],
    ["throttle"],
    ["trim-short-b1", "trim-long-b1"],
  ],
  ...[["coolant", "intake-air"], ["load"], ["advance"], ["vehicle-speed"]],
];

/** 50 exchanges a second for an hour. */
function writeHour(path: string): void {
  const fd = openSync(path, "w");
  const header = {
    ...{ format: "crankside-recording", version: 1, started: created, from: "serial:/dev/ttyUSB0" },
    ...{ adapter: null, protocol: "can11-500", vehicle: {}, invented: false, writer: "test" },
  };
  writeSync(fd, `${JSON.stringify(header)}\n`);
  // Parameter numbers of the lanes above, and how many bytes each has: public list "OBD-II PIDs", service 01.
  const asked = [...(["0C", "0B", "10", "11", "06", "07", "05", "0F", "04", "0E", "0D"] as const)];
  const wide: ReadonlySet<string> = new Set(["0C", "10"]);
  const hex = (n: number): string => (n & 255).toString(16).toUpperCase().padStart(2, "0");
  let text = "";
  for (let n = 0; n < 180_000; n++) {
    const t = n * 20;
    const pid = asked[n % (asked.length + 1)];
    if (pid === undefined) {
      text += `{"t":${t},"k":"x","ask":"ATRV","lines":["${(12 + (n % 17) / 10).toFixed(1)}V"],"first":3,"end":5}\n`;
    } else {
      const a = Math.round(90 + 60 * Math.sin(n / 977) + ((n * 7919) % 37));
      const data = wide.has(pid) ? hex(a >> 3) + hex(a * 13) : hex(a);
      const line = `7E8${hex(2 + data.length / 2)}41${pid}${data}`;
      text += `{"t":${t},"k":"x","ask":"01${pid}1","lines":["${line}"],"first":8,"end":11}\n`;
    }
    if (text.length > 1e6) {
      writeSync(fd, text);
      text = "";
    }
  }
  writeSync(fd, text);
  closeSync(fd);
}

/** A JPEG of this many bytes: one scan of noise in the entropy-coded part, which nobody decodes here. */
function photoOf(bytes: number, seed: number): Uint8Array {
  const head = [
    ...[0xff, 0xd8, 0xff, 0xdb, 0, 67, 0, ...new Array<number>(64).fill(1)],
    ...[0xff, 0xc0, 0, 11, 8, 1500 >> 8, 1500 & 255, 2000 >> 8, 2000 & 255, 1, 1, 0x11, 0],
    ...[0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0],
  ];
  const out = new Uint8Array(bytes);
  out.set(head);
  for (let i = head.length; i < bytes - 2; i++) out[i] = (i * 31 + seed * 17 + (i >> 7)) % 251;
  out.set([0xff, 0xd9], bytes - 2);
  return out;
}

export interface LargeJob {
  readonly store: JobStore;
  readonly id: string;
  readonly recording: string;
  readonly photos: readonly string[];
}

export async function makeLargeJob(folder: string): Promise<LargeJob> {
  const recording = join(folder, "hour.ndjson");
  writeHour(recording);
  const store = new JobStore({ own: folder, bundled: null }, new VirtualClock(0));
  const { id } = await store.create("hour");
  const tie = await tieOf(recording);
  const photos: string[] = [];
  for (let n = 0; n < 12; n++) {
    // From the whole hour down to some seconds.
    const to = Math.max(10_000, 3_600_000 / 2 ** n);
    const kept = await store.addPhoto(id, photoOf(600_000, n));
    photos.push(store.photoPath(id, kept.file));
    const job = await store.read(id);
    await store.change(id, [
      puttingClip(
        { job, id: `c${n}`, tie },
        { section: "signs", from: 0, to, lanes, caption: `Stretch ${n}` },
      ),
      putting(job, "photos", `p${n}`, { section: "checks", caption: `Photo ${n}`, ...kept }),
    ]);
  }
  return { store, id, recording, photos };
}
