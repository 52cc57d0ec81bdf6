import type { Command } from "commander";
import {
  attachAdapter,
  Bench,
  benchScripts,
  benchFaults,
  allBenchVehicles,
  runScript,
} from "../../../adapters/bench/index.ts";
import {
  listenTcp,
  openSerial,
  pacedClock,
  realClock,
  serialPair,
  VirtualClock,
} from "../../../adapters/link/index.ts";
import { parseAddress, type Address } from "../../../shared/address.ts";
import type { Clock } from "../../../shared/clock.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { clockText } from "../../../shared/times.ts";
import type { ByteEnd } from "../../../shared/wire.ts";
import { interrupted } from "../interrupt.ts";
import { Progress } from "../progress.ts";
import { lastQuestions, record } from "../record.ts";
import { stoppable } from "../stoppable.ts";
import { channelNames } from "./listen.ts";

interface BenchOptions {
  readonly vehicle?: string;
  readonly fault: readonly string[];
  readonly script?: string;
  readonly seed: string;
  readonly tcp?: string;
  readonly serial?: string | true;
  readonly out?: string;
  readonly channels?: string;
  readonly list?: true;
  readonly survey: boolean;
}

/** Baud rate of the bench vehicle's serial line. */
const benchBaud = 38_400;
/** Wall time of a run into a file, so that the same run gives the same bytes. */
const benchEpoch = Date.UTC(2026, 0, 5, 8, 0, 0);
/** Nothing is waited for but the file, which takes all at once: signals get their turn this often. */
const turnEvery = 64;

export function benchCommand(program: Command): void {
  program
    .command("bench")
    .description("put the bench vehicle (an invented engine) on a line, or run it into a recording")
    .option("--vehicle <name>", "the vehicle; --list shows them")
    .option(
      "--fault <name[=severity]>",
      "a fault, severity 0 to 1; may be given again",
      (f: string, all: string[]) => [...all, f],
      [],
    )
    .option("--script <name>", "what is done at the key; --list shows the scripts")
    .option("--seed <number>", "seed of the random numbers", "1")
    .option("--tcp <port>", "serve an adapter on this TCP port of the machine; 0 takes a free one")
    .option("--serial [path]", "serve an adapter on this serial device, or on a new pseudo-terminal pair")
    .option("--out <file>", "run the script into a recording, as fast as the machine can")
    .option("--channels <names>", "channels to read into --out, with commas between")
    .option("--no-survey", "into --out: do not read all modules at key on and at the end")
    .option("--list", "list vehicles, faults and scripts")
    .action(bench);
}

async function bench(options: BenchOptions): Promise<void> {
  if (options.list === true) {
    list();
    return;
  }
  const places = [options.tcp, options.serial, options.out].filter((place) => place !== undefined);
  if (places.length !== 1 || options.vehicle === undefined) {
    throw new CranksideError("wrong-use", "the bench vehicle needs a name and one place", {
      expected: "--vehicle NAME and one of --tcp PORT, --serial [PATH], --out FILE",
      found: `${options.vehicle === undefined ? "no vehicle" : "a vehicle"} and ${places.length} places`,
    });
  }
  const address = parseAddress(`bench:${[options.vehicle, ...options.fault].join(",")}`);
  const seed = Number(options.seed);
  if (!Number.isInteger(seed) || seed < 0) {
    throw new CranksideError("wrong-use", "not a seed", {
      expected: "a whole number from 0",
      found: JSON.stringify(options.seed),
    });
  }
  if (options.out !== undefined) return intoFile(address, { ...options, out: options.out, seedNumber: seed });
  return onLine(address, options, seed);
}

function list(): void {
  const rows = (title: string, entries: readonly (readonly [string, string])[]): string =>
    `${title}\n${entries.map(([id, about]) => `  ${id.padEnd(20)} ${about}`).join("\n")}\n`;
  process.stdout.write(
    [
      rows(
        "vehicles (invented)",
        allBenchVehicles.map((v) => [v.id, `${v.name}: ${v.about}`]),
      ),
      rows(
        "faults",
        benchFaults.map((f) => [f.id, f.name]),
      ),
      rows(
        "scripts",
        benchScripts.map((s) => [s.id, `${s.about}, ${s.seconds} s`]),
      ),
    ].join("\n"),
  );
}

async function onLine(address: Address, options: BenchOptions, seed: number): Promise<void> {
  const time = stoppable(pacedClock(realClock));
  const vehicle = newBench(address, seed, time.clock);
  const attach = (end: ByteEnd): void => void attachAdapter(vehicle, end, time.clock, { baud: benchBaud });
  const stop = interrupted();
  let where: string;
  let close: () => Promise<void>;
  if (options.tcp !== undefined) {
    const port = Number(options.tcp);
    const server = await listenTcp({ host: "127.0.0.1", port }, attach);
    where = `tcp:127.0.0.1:${server.port}`;
    close = () => server.close();
  } else if (typeof options.serial === "string") {
    const end = await openSerial({ path: options.serial, baud: benchBaud });
    attach(end);
    where = `serial:${options.serial}@${benchBaud} (the other end of it)`;
    close = () => end.close();
  } else {
    const pair = await serialPair();
    const end = await openSerial({ path: pair.a, baud: benchBaud });
    attach(end);
    where = `serial:${pair.b}`;
    close = async () => {
      await end.close();
      await pair.close();
    };
  }
  process.stdout.write(
    `bench vehicle, invented data\nlisten with: crankside listen --on ${where} --for 30s --out FILE.ndjson\n(Ctrl-C ends it)\n`,
  );
  if (options.script !== undefined)
    await Promise.race([runScript(vehicle, options.script, time.clock), stop.done]);
  await stop.done;
  time.stop();
  vehicle.stop();
  await close();
}

function newBench(address: Address, seed: number, clock: Clock): Bench {
  if (address.kind !== "bench") throw new CranksideError("wrong-use", "only the bench vehicle runs here");
  const vehicle = new Bench({ vehicle: address.vehicle, faults: address.faults, clock, seed });
  vehicle.act({ act: "key", to: "on" });
  return vehicle;
}

async function intoFile(
  address: Address,
  options: BenchOptions & { out: string; seedNumber: number },
): Promise<void> {
  const clock = new VirtualClock(benchEpoch, turnEvery);
  const progress = new Progress();
  const script = options.script ?? "start-and-idle";
  const run = async (): Promise<string> => {
    const recorder = await record({
      address,
      out: options.out,
      clock,
      gatherBy: realClock,
      channels: channelNames(options.channels),
      seed: options.seedNumber,
      survey: options.survey,
      onDoing: (text) => progress.show(text),
    });
    try {
      recorder.start();
      if (recorder.bench !== null) {
        await runScript(recorder.bench, script, clock, (seconds) =>
          progress.show(`${clockText(seconds * 1000)} simulated`),
        );
        if (options.survey) await lastQuestions(recorder, clock);
      }
    } finally {
      await recorder.close();
    }
    return recorder.summary();
  };
  const done = run();
  await clock.run(done);
  progress.end(`${options.out}: ${await done}`);
}
