/**
 * The golden visit: a market garden's V6 van (bench vehicle, invented) that stood all winter, from hookup to the last
 * recording, on a clock that jumps. What the person does with the job is in visit.test.ts.
 */
import { join } from "node:path";
import type { Bench } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/index.ts";
import { pause } from "../../shared/clock.ts";
import type { MarkEvent } from "../../shared/recording/format.ts";
import { record } from "../../src/cli/record.ts";
import { addToRecording } from "../../src/recorder/add.ts";

/** 2 March 2024, 09:00 UTC: the first warm morning. */
const epoch = Date.UTC(2024, 2, 2, 9, 0, 0);

export const visitFiles = {
  cranks: "2024-03-02-090000-van-stood-all-winter.ndjson",
  shaking: "2024-03-02-100000-van-stood-all-winter.ndjson",
  lean: "2024-03-02-110000-van-stood-all-winter.ndjson",
  after: "2024-03-02-130000-van-stood-all-winter.ndjson",
} as const;

interface Scene {
  readonly bench: Bench;
  readonly wait: (seconds: number) => Promise<void>;
  /** What the person marks; written into the recording once it has ended, as the page does. */
  readonly mark: (label: string, from: number, to?: number) => void;
  /** Seconds since the recording began. */
  readonly now: () => number;
}

async function recorded(
  folder: string,
  file: string,
  startMs: number,
  play: (scene: Scene) => Promise<void>,
): Promise<void> {
  const clock = new VirtualClock(startMs);
  const out = join(folder, file);
  const marks: MarkEvent[] = [];
  const run = async (): Promise<void> => {
    const zero = clock.now();
    const recorder = await record({
      address: { kind: "bench", vehicle: "garden-van", faults: [] },
      out,
      clock,
      channels: [],
      seed: 7,
      onDoing: () => undefined,
    });
    if (recorder.bench === null) throw new Error("no bench vehicle behind the address");
    recorder.start();
    const now = (): number => (clock.now() - zero) / 1000;
    await play({
      bench: recorder.bench,
      wait: (seconds) => pause(clock, seconds * 1000),
      now,
      mark: (label, from, to) => {
        marks.push({
          k: "mark",
          t: 0,
          id: `m${marks.length + 1}`,
          at: Math.round(from * 1000),
          ...(to === undefined ? {} : { until: Math.round(to * 1000) }),
          label,
        });
      },
    });
    await recorder.close();
  };
  const done = run();
  await clock.run(done);
  await done;
  await addToRecording(out, (startedMs) =>
    marks.map((m) => ({ ...m, t: Math.max(0, clock.wall() - startedMs) })),
  );
}

/** Cranks for so long, with the speed signal or without, and rests. */
async function crank(scene: Scene, seconds: number, signal: boolean): Promise<void> {
  const { bench, wait } = scene;
  bench.act({ act: "fault", name: "no-crank-signal", severity: signal ? 0 : 1 });
  bench.act({ act: "key", to: "crank" });
  await wait(seconds);
  bench.act({ act: "key", to: "on" });
  bench.act({ act: "fault", name: "no-crank-signal", severity: 0 });
  await wait(10);
}

export async function makeVisit(folder: string): Promise<void> {
  await makeCranks(folder);
  await makeShaking(folder);
  await makeLean(folder);
  await makeAfter(folder);
}

async function makeCranks(folder: string): Promise<void> {
  // Two of five cranks show no speed; the plug is cleaned, it starts; wiggled, it is dead; left alone, it starts.
  await recorded(folder, visitFiles.cranks, epoch, async (scene) => {
    const { bench, wait, mark, now } = scene;
    bench.act({ act: "fault", name: "pump-dead", severity: 1 });
    await wait(10);
    for (const signal of [true, false, true, false, true]) await crank(scene, 4, signal);
    bench.act({ act: "fault", name: "pump-dead", severity: 0 });
    mark("plug at the crank sensor cleaned, fuel pump relay pushed home", now());
    await wait(5);
    await crank(scene, 2.5, true);
    await wait(10);
    bench.act({ act: "key", to: "off" });
    await wait(8);
    bench.act({ act: "key", to: "on" });
    await wait(5);
    const from = now();
    await crank(scene, 4, false);
    mark("plug at the crank sensor wiggled while cranking", from, from + 4);
    await crank(scene, 2.5, true);
    await wait(20);
  });
}

export async function makeShaking(folder: string): Promise<void> {
  // It shakes: cylinder 3 makes no difference when unplugged; its coil is moved to 5, and then 5 makes none.
  await recorded(folder, visitFiles.shaking, epoch + 3_600_000, async (scene) => {
    const { bench, wait, mark, now } = scene;
    const coil = (dead: number): void => {
      bench.engine.damage.coil.fill(1);
      bench.engine.damage.coil[dead - 1] = 0;
    };
    const unplug = async (cylinder: number, label: string): Promise<void> => {
      const from = now();
      bench.act({ act: "unplug", cylinder, on: true });
      await wait(7);
      bench.act({ act: "unplug", cylinder, on: false });
      mark(label, from, now());
      await wait(12);
    };
    coil(3);
    await wait(5);
    await crank(scene, 2.5, true);
    coil(3);
    await wait(60);
    for (let cylinder = 1; cylinder <= 6; cylinder++)
      await unplug(cylinder, `cylinder ${cylinder} unplugged`);
    coil(5);
    mark("coil of cylinder 3 moved to cylinder 5", now());
    await wait(20);
    await unplug(3, "no. 3 unplugged again, with the coil of no. 5");
    await unplug(5, "no. 5 unplugged again, with the coil of no. 3");
    const before = now();
    bench.engine.damage.coil.fill(1);
    mark("a good coil on cylinder 5", before);
    await wait(60);
  });
}

/** Driven warm before, then started. */
async function warmStart({ bench, wait }: Scene): Promise<void> {
  const { heat } = bench.engine;
  heat.coolantC = heat.oilC = heat.wallC = 88;
  await wait(5);
  bench.act({ act: "key", to: "crank" });
  await wait(2.5);
  bench.act({ act: "key", to: "on" });
}

/** Bank 2 is lean at idle; its joints taped over for a minute the trims come back; at 2500 rpm little is seen of it. */
export async function makeLean(folder: string): Promise<void> {
  await recorded(folder, visitFiles.lean, epoch + 7_200_000, async (scene) => {
    const { bench, wait, mark, now } = scene;
    bench.act({ act: "fault", name: "unmetered-air-bank", severity: 1 });
    await warmStart(scene);
    await wait(210);
    bench.act({ act: "intake-seal", on: true });
    const from = now();
    await wait(60);
    mark("intake sealed for a minute", from, now());
    bench.act({ act: "intake-seal", on: false });
    await wait(120);
    bench.hold(2500);
    await wait(60);
    bench.hold(null);
    await wait(30);
  });
}

/** The same with a new gasket. */
export async function makeAfter(folder: string): Promise<void> {
  await recorded(folder, visitFiles.after, epoch + 14_400_000, async (scene) => {
    await warmStart(scene);
    await scene.wait(240);
  });
}
